-- Files of cars, so that a car begun in one lane can be opened in another. The first one given stands.

create table linewalk.car_file (
    car text primary key check (car ~ '^[A-Za-z0-9][A-Za-z0-9-]{0,99}$'),
    body text not null check (length(body) <= 8388608),
    login name not null default session_user,
    given timestamptz not null default now()
);
alter table linewalk.car_file enable row level security;
create policy all_read on linewalk.car_file for select to linewalk_lane, linewalk_control using (true);
create policy own_login on linewalk.car_file for insert to linewalk_lane with check (login = session_user);
revoke all on linewalk.car_file from public;
grant select on linewalk.car_file to linewalk_lane, linewalk_control;
grant insert (car, body) on linewalk.car_file to linewalk_lane;
