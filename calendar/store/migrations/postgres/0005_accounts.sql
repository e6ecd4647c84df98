-- How growers sign in, and how they leave.

-- +goose Up

create table accounts (
    grower   text collate "C" primary key references growers (id) deferrable,
    mail     text collate "C" not null unique, -- folded, so that one address is one account
    password text collate "C" not null, -- argon2id with its parameters, PHC string form
    changed  text collate "C" not null
);

-- Links that may be used once: to set a password, or to join. Those used or too
-- old are swept away.
create table tickets (
    hash    text collate "C" primary key, -- SHA-256 of the link's secret
    grower  text collate "C" references growers (id) deferrable, -- null: an invitation
    mail    text collate "C" not null, -- the address that an invitation is for, or empty
    expires text collate "C" not null
);

create table sessions (
    hash    text collate "C" primary key, -- of the cookie's value
    grower  text collate "C" references growers (id) deferrable, -- null: nobody is signed in
    data    bytea not null,
    seen    text collate "C" not null,
    expires text collate "C" not null
);

create index sessions_of_grower on sessions (grower);

-- Feed links of growers who left, so that calendar programs are told so for a while.
create table withdrawn (
    token_hash text collate "C" primary key,
    since      text collate "C" not null
);

-- Growers who are leaving: they stand here only within the transaction that
-- deletes what is theirs, and only their logs may be deleted.
create table leaving (
    grower text collate "C" primary key
);

-- +goose StatementBegin
create function log_is_never_shortened() returns trigger language plpgsql as $$
begin
    if exists (select 1 from leaving where grower = old.grower) then
        return old;
    end if;
    raise exception 'the log is only ever added to';
end;
$$;
-- +goose StatementEnd

drop trigger log_is_never_shortened on log;
create trigger log_is_never_shortened before delete on log for each row execute function log_is_never_shortened();

-- What SQLite finds fast enough without, in the file of one grower or of a few.
create index links_of_grower on links (grower);
create index link_uses_of_grower on link_uses (grower);
create index editions_of_grower on editions (grower);
create index tickets_of_grower on tickets (grower);
