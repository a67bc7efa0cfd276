-- title: Which months a table has rows in
-- grain: one row per source table and local month with at least one live row
-- reads: births, screens, serum, phototherapy, stays, exchanges, meter_checks
-- looks back: not at all
-- looks ahead: not at all
-- choices: A month in which a table that a measure reads has no row in the whole network is "no
--   data" for that measure, never zero: an extract that was not delivered looks just like it.
with counted as (
  select 'births' as table_name, local_month as month, count(*) as n from births group by local_month
  union all
  select 'screens', local_month, count(*) from screens group by local_month
  union all
  select 'serum', local_month, count(*) from serum group by local_month
  union all
  select 'phototherapy', local_month, count(*) from phototherapy group by local_month
  union all
  select 'stays', local_month, count(*) from stays group by local_month
  union all
  select 'exchanges', local_month, count(*) from exchanges group by local_month
  union all
  select 'meter_checks', local_month, count(*) from meter_checks group by local_month
)
select * from counted
order by table_name, month
