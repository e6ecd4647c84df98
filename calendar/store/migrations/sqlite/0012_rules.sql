-- What growers and clubs say in the place of the lore, version by version.

-- +goose Up

create table rules (
    owner     text not null, -- "grower ada" or "club hills"
    number    integer not null,
    grower    text references growers (id), -- whose they are; null: a club's
    club      text references clubs (id), -- null: a grower's
    subject   text not null,
    at        text not null,
    who       text not null, -- id of the grower who wrote it; empty: has left
    why       text not null,
    text      text not null, -- YAML
    withdrawn boolean not null,
    primary key (owner, number)
);

create index rules_of_grower on rules (grower);
create index rules_of_club on rules (club);

-- +goose StatementBegin
create trigger rules_are_never_changed before update on rules
when not (new.who = '' and new.owner = old.owner and new.number = old.number and new.grower is old.grower and new.club is old.club
    and new.subject = old.subject and new.at = old.at and new.why = old.why and new.text = old.text and new.withdrawn = old.withdrawn)
begin
    select raise(abort, 'rules are only ever added to');
end;
-- +goose StatementEnd

-- +goose StatementBegin
create trigger rules_are_never_taken before delete on rules
when old.grower is null or not exists (select 1 from leaving where grower = old.grower)
begin
    select raise(abort, 'rules are only ever added to');
end;
-- +goose StatementEnd

-- Members who have their trees planned by the rules of a club.
create table follows (
    grower text not null references growers (id),
    club   text not null references clubs (id),
    primary key (grower, club)
);
