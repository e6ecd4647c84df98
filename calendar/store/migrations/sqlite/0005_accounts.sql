-- How growers sign in, and how they leave.

-- +goose Up

create table accounts (
    grower   text primary key references growers (id),
    mail     text not null unique, -- folded, so that one address is one account
    password text not null, -- argon2id with its parameters, PHC string form
    changed  text not null
);

-- Links that may be used once: to set a password, or to join. Those used or too
-- old are swept away.
create table tickets (
    hash    text primary key, -- SHA-256 of the link's secret
    grower  text references growers (id), -- null: an invitation
    mail    text not null, -- the address that an invitation is for, or empty
    expires text not null
);

create table sessions (
    hash    text primary key, -- of the cookie's value
    grower  text references growers (id), -- null: nobody is signed in
    data    blob not null,
    seen    text not null,
    expires text not null
);

create index sessions_of_grower on sessions (grower);

-- Feed links of growers who left, so that calendar programs are told so for a while.
create table withdrawn (
    token_hash text primary key,
    since      text not null
);

-- Growers who are leaving: they stand here only within the transaction that
-- deletes what is theirs, and only their logs may be deleted.
create table leaving (
    grower text primary key
);

drop trigger log_is_never_shortened;

-- +goose StatementBegin
create trigger log_is_never_shortened before delete on log
when not exists (select 1 from leaving where grower = old.grower)
begin
    select raise(abort, 'the log is only ever added to');
end;
-- +goose StatementEnd
