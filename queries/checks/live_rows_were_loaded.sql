-- title: Each live row was loaded
-- grain: one row per live row that is no version of its id
-- reads: births, screens, serum, phototherapy, stays, exchanges, meter_checks, merges, versions_births, versions_screens, versions_serum, versions_phototherapy, versions_stays, versions_exchanges, versions_meter_checks, versions_merges
with made_up as (
  select 'births' as table_name, l.row_id, l.load, l.seq from births l
  left anti join versions_births v on v.load = l.load and v.seq = l.seq
  union all
  select 'screens' as table_name, l.row_id, l.load, l.seq from screens l
  left anti join versions_screens v on v.load = l.load and v.seq = l.seq and v.row_id = l.row_id
  union all
  select 'serum' as table_name, l.row_id, l.load, l.seq from serum l
  left anti join versions_serum v on v.load = l.load and v.seq = l.seq and v.row_id = l.row_id
  union all
  select 'phototherapy' as table_name, l.row_id, l.load, l.seq from phototherapy l
  left anti join versions_phototherapy v on v.load = l.load and v.seq = l.seq and v.row_id = l.row_id
  union all
  select 'stays' as table_name, l.row_id, l.load, l.seq from stays l
  left anti join versions_stays v on v.load = l.load and v.seq = l.seq and v.row_id = l.row_id
  union all
  select 'exchanges' as table_name, l.row_id, l.load, l.seq from exchanges l
  left anti join versions_exchanges v on v.load = l.load and v.seq = l.seq and v.row_id = l.row_id
  union all
  select 'meter_checks' as table_name, l.row_id, l.load, l.seq from meter_checks l
  left anti join versions_meter_checks v on v.load = l.load and v.seq = l.seq and v.row_id = l.row_id
  union all
  select 'merges' as table_name, l.row_id, l.load, l.seq from merges l
  left anti join versions_merges v on v.load = l.load and v.seq = l.seq and v.row_id = l.row_id
)
select table_name, row_id, load, seq
from made_up
order by table_name, row_id, load, seq
