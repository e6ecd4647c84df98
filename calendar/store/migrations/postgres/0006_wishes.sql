-- Shows, hours, and what the last agenda promised.

-- +goose Up

create table wishes (
    grower  text collate "C" primary key references growers (id) deferrable,
    shows   text collate "C", -- JSON; null: none
    hours   text collate "C", -- JSON; null: none were told
    promise text collate "C"  -- JSON; null: nothing was
);
