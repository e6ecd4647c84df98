-- What growers and clubs say in the place of the lore, version by version.

-- +goose Up

create table rules (
    owner     text collate "C" not null, -- "grower ada" or "club hills"
    number    bigint not null,
    grower    text collate "C" references growers (id) deferrable, -- whose they are; null: a club's
    club      text collate "C" references clubs (id) deferrable, -- null: a grower's
    subject   text collate "C" not null,
    at        text collate "C" not null,
    who       text collate "C" not null, -- id of the grower who wrote it; empty: has left
    why       text collate "C" not null,
    text      text collate "C" not null, -- YAML
    withdrawn boolean not null,
    primary key (owner, number)
);

create index rules_of_grower on rules (grower);
create index rules_of_club on rules (club);

-- +goose StatementBegin
create function rules_are_never_changed() returns trigger language plpgsql as $$
begin
    if new.who = '' and new.owner = old.owner and new.number = old.number and new.grower is not distinct from old.grower
        and new.club is not distinct from old.club and new.subject = old.subject and new.at = old.at and new.why = old.why
        and new.text = old.text and new.withdrawn = old.withdrawn then
        return new;
    end if;
    raise exception 'rules are only ever added to';
end;
$$;
-- +goose StatementEnd

create trigger rules_are_never_changed before update on rules for each row execute function rules_are_never_changed();

-- +goose StatementBegin
create function rules_are_never_taken() returns trigger language plpgsql as $$
begin
    if old.grower is not null and exists (select 1 from leaving where grower = old.grower) then
        return old;
    end if;
    raise exception 'rules are only ever added to';
end;
$$;
-- +goose StatementEnd

create trigger rules_are_never_taken before delete on rules for each row execute function rules_are_never_taken();

-- Members who have their trees planned by the rules of a club.
create table follows (
    grower text collate "C" not null references growers (id) deferrable,
    club   text collate "C" not null references clubs (id) deferrable,
    primary key (grower, club)
);
