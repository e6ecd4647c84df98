-- Clubs and who is in them.

-- +goose Up

create table clubs (
    id      text primary key,
    name    text not null,
    founded text not null
);

create table members (
    club   text not null references clubs (id),
    grower text not null references growers (id),
    role   text not null, -- keeper, editor or member
    since  text not null,
    shares boolean not null, -- sightings go into the club's pool
    primary key (club, grower)
);

create index members_of_grower on members (grower);

alter table regions add column club text references clubs (id); -- null: the service's own

-- An invitation may be one into a club.
alter table tickets add column club text references clubs (id);
alter table tickets add column role text;
