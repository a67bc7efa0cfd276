-- title: Ids of which something may have changed in this load
-- grain: one row per table and id
-- reads: standing_keys, aside_keys, changed_babies, data_ends, tables_of_step
-- choices: An id has a new row, or one newly set aside, or is of a baby whose birth or identity has
--   changed, or a row that lies after the table's data end so far. So are all results of a specimen
--   with a row that does not say what was measured, when the specimen has a new row: it may decide
--   whose version that row is. What became of all others is as it was. A birth goes by the id that
--   stands as well.
with asides as (
  select distinct table_name, version_of from aside_keys where load = $load
),
of_changed_babies as (
  select s.*, c.infant_id is not null as is_of_changed
  from changed_babies c
  right join standing_keys s on s.baby_id = c.infant_id
),
or_under_another_id as (
  select s.*, c.infant_id is not null as was_of_changed
  from changed_babies c
  right join of_changed_babies s on s.of_infant_id = c.infant_id
),
or_set_aside as (
  select s.*, a.version_of is not null as has_aside
  from asides a
  right join or_under_another_id s on s.table_name = a.table_name and s.version_of = a.version_of
),
changed as (
  select s.table_name, s.stands_for
  from data_ends e
  right join or_set_aside s on s.table_name = e.table_name
  where s.load = $load or s.specimen_load = $load or s.event_s > e.through_s or s.until_s > e.through_s
    or s.is_of_changed or s.was_of_changed or s.has_aside
  union
  select t.table_name, c.infant_id
  from changed_babies c
  join tables_of_step t on t.table_name = 'births'
)
select table_name, stands_for
from changed
