-- The language, units and dates of each grower.

-- +goose Up

create table locales (
    grower text collate "C" primary key references growers (id) deferrable,
    value  text collate "C" not null -- JSON
);
