-- What is known of a tree's pot besides its kind and litres: measures and mix.

-- +goose Up

alter table trees add column pot text; -- JSON; null: nothing more
