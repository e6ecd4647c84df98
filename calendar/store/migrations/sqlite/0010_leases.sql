-- Which instance holds a job.

-- +goose Up

create table leases (
    job   text primary key,
    slot  text not null, -- the time for which the job is scheduled
    fence integer not null, -- rises whenever the job is taken
    until text not null,
    done  boolean not null
);
