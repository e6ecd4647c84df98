-- What feeds last showed, so that a poll is answered without a plan, and the
-- passwords of programs that connect.

-- +goose Up

-- What was last published for an owner: "grower ID" or "region ID".
create table editions (
    owner   text primary key,
    grower  text references growers (id), -- null: of a region
    number  integer not null, -- rises whenever something shown changes
    changes integer not null, -- of the owner, when it was made
    made_by text not null,    -- which program and lore
    day     text not null,    -- of the plan
    starts  text not null,    -- from when to when that is today's
    ends    text not null
);

-- Events and tasks as they were last shown. Those that are gone stay, so that
-- programs that ask what changed hear of it.
create table shown (
    owner    text not null references editions (owner) on delete cascade,
    uid      text not null,
    state    text not null, -- JSON
    digest   text not null,
    sequence integer not null,
    modified text not null,
    changed  integer not null, -- the number of the edition in which it did
    gone     boolean not null,
    primary key (owner, uid)
);

-- The feeds of an edition, ready to be served.
create table bodies (
    owner    text not null references editions (owner) on delete cascade,
    name     text not null,
    tag      text not null, -- of what is in it
    modified text, -- null where that is not told
    plain    blob not null,
    packed   blob not null, -- gzip
    primary key (owner, name)
);

-- Passwords of programs.
create table passwords (
    grower  text not null references growers (id),
    id      text not null,
    name    text not null,
    hash    text not null unique,
    created text not null,
    used    text,
    revoked text,
    primary key (grower, id)
);
