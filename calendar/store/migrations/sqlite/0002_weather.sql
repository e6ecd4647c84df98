-- Weather that keeps coming, of several sources, and benches.

-- +goose Up

alter table sites add column record_notes text; -- JSON
alter table sites add column forecast_notes text; -- JSON
alter table places add column benches text; -- JSON
alter table trees add column bench text not null default '';
alter table log add column moved text not null default '';

-- Where the weather of a place keeps coming from.
create table weather_sources (
    grower    text not null,
    place     text not null,
    kind      text not null,
    address   text not null, -- or path
    elevation real,
    tried     text,
    got       text,
    not_yet   text,
    failed    integer not null,
    why       text not null,
    modified  text not null,
    digest    text not null,
    primary key (grower, place, kind),
    foreign key (grower, place) references places (grower, id)
);

-- What a source, or the grower, said of the weather of a place.
create table series (
    id        integer primary key,
    grower    text not null,
    place     text not null,
    source    text not null,
    kind      text not null,
    elevation real,
    unique (grower, place, source, kind),
    foreign key (grower, place) references places (grower, id)
);

create table readings (
    series integer not null references series (id),
    year   integer not null,
    days   blob not null,
    primary key (series, year)
);
