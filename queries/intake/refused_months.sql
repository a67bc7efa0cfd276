-- title: Months in which what became of readings that were set aside may have changed
-- grain: one row per local month
-- reads: set_aside, versions_screens
-- choices: A reading of that month was set aside, or its id came again, by this load; or the month is
--   not before $from_month: moving data end, or a check of a meter that this load changed in that
--   month, may decide it.
with of_load as (
  select row_id from set_aside where table_name = 'screens' and load = $load
  union all
  select row_id from versions_screens where load = $load
)
select a.local_month as month
from of_load n
right semi join set_aside a on a.row_id = n.row_id
where a.table_name = 'screens' and a.local_month is not null
union
select local_month
from set_aside
where table_name = 'screens' and local_month >= $from_month
