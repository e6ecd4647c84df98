-- Clubs and who is in them.

-- +goose Up

create table clubs (
    id      text collate "C" primary key,
    name    text collate "C" not null,
    founded text collate "C" not null
);

create table members (
    club   text collate "C" not null references clubs (id) deferrable,
    grower text collate "C" not null references growers (id) deferrable,
    role   text collate "C" not null, -- keeper, editor or member
    since  text collate "C" not null,
    shares boolean not null, -- sightings go into the club's pool
    primary key (club, grower)
);

create index members_of_grower on members (grower);

alter table regions add column club text collate "C" references clubs (id) deferrable; -- null: the service's own

-- An invitation may be one into a club.
alter table tickets add column club text collate "C" references clubs (id) deferrable;
alter table tickets add column role text collate "C";
