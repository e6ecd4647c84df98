-- The language, units and dates of each grower.

-- +goose Up

create table locales (
    grower text primary key references growers (id),
    value  text not null -- JSON
);
