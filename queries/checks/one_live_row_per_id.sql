-- title: Each id stands once
-- grain: one row per id that has more than one live row
-- reads: births, screens, serum, phototherapy, stays, exchanges, meter_checks, merges
with live as (
  select 'births' as table_name, row_id from births
  union all
  select 'screens' as table_name, row_id from screens
  union all
  select 'serum' as table_name, row_id from serum
  union all
  select 'phototherapy' as table_name, row_id from phototherapy
  union all
  select 'stays' as table_name, row_id from stays
  union all
  select 'exchanges' as table_name, row_id from exchanges
  union all
  select 'meter_checks' as table_name, row_id from meter_checks
  union all
  select 'merges' as table_name, row_id from merges
)
select table_name, row_id, count(*) as n
from live
group by table_name, row_id
having count(*) > 1
order by table_name, row_id
