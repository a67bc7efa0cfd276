-- title: Each row is in the folder of its month
-- grain: one row per live row in the folder of another month
-- reads: births, screens, serum, phototherapy, stays, exchanges, meter_checks, merges
with astray as (
  select 'births' as table_name, row_id, month, local_month from births where month <> local_month
  union all
  select 'screens' as table_name, row_id, month, local_month from screens where month <> local_month
  union all
  select 'serum' as table_name, row_id, month, local_month from serum where month <> local_month
  union all
  select 'phototherapy' as table_name, row_id, month, local_month from phototherapy where month <> local_month
  union all
  select 'stays' as table_name, row_id, month, local_month from stays where month <> local_month
  union all
  select 'exchanges' as table_name, row_id, month, local_month from exchanges where month <> local_month
  union all
  select 'meter_checks' as table_name, row_id, month, local_month from meter_checks where month <> local_month
  union all
  select 'merges' as table_name, row_id, month, local_month from merges where month <> local_month
)
select * from astray
order by table_name, row_id
