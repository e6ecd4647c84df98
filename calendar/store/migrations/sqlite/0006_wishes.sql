-- Shows, hours, and what the last agenda promised.

-- +goose Up

create table wishes (
    grower  text primary key references growers (id),
    shows   text, -- JSON; null: none
    hours   text, -- JSON; null: none were told
    promise text  -- JSON; null: nothing was
);
