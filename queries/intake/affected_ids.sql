-- title: Ids of which something may have changed in this load
-- grain: one row per table and id
-- reads: standing_keys, row_keys, changed_babies, data_ends, tables_of_step
-- choices: An id has a new row, or one newly set aside, or is of a baby whose birth or identity has
--   changed, or a row that lies after the table's data end so far. What became of all others is as
--   it was. A birth goes by the id that stands as well.
with changed as (
  select s.table_name, s.stands_for
  from standing_keys s
  left join changed_babies c on c.infant_id = s.baby_id
  left join changed_babies d on d.infant_id = s.of_infant_id
  left join data_ends e on e.table_name = s.table_name
  where s.load = cast($load as bigint) or c.infant_id is not null or d.infant_id is not null
    or s.event_s > e.through_s or s.until_s > e.through_s
  union
  select s.table_name, s.stands_for
  from standing_keys s
  left semi join (
    select table_name, row_id from row_keys where is_aside and load = cast($load as bigint)
  ) a on a.table_name = s.table_name and a.row_id = s.row_id
  union
  select t.table_name, c.infant_id
  from changed_babies c
  join tables_of_step t on t.table_name = 'births'
)
select table_name, stands_for
from changed
