-- title: Rows that are in no table: set aside or held
-- grain: one row per such row of the loads asked for
-- reads: set_aside, held
-- choices: Rows set aside come first, as they wait for somebody; held rows wait for a birth. A row
--   set aside stays listed after a mended one was loaded.
with waiting as (
  select load, file, line, table_name, column_name, cell, reason, remedy from set_aside
  union all
  select load, file, line, table_name, '' as column_name, '' as cell, reason, remedy from held
)
select * from waiting
where load >= cast($first_load as bigint)
order by case when reason = 'unknown_baby' then 1 else 0 end, load, file, line, table_name, reason
