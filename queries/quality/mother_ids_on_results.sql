-- title: Results are filed under the mother's id instead of the baby's
-- grain: one row per finding: one table, unit and month
-- reads: held, births, versions_screens, versions_serum
-- level: warn
-- choices: Rows that wait for an unknown baby whose id is that of a mother in the birth register and
--   of no baby. They are in no measure until the source names the baby. Other waiting rows are not
--   told here: their baby may come with a later load.
with mothers as (
  select distinct b.mother_id
  from births b
  left anti join births i on i.infant_id = b.mother_id
  where b.mother_id is not null
),
waiting as (
  select h.table_name, h.row_id, h.load, h.file, h.line
  from held h
  join mothers m on m.mother_id = h.infant_id
  where h.reason = 'unknown_baby'
),
placed as (
  select distinct 'screens' as table_name, v.unit, v.local_month as month, v.row_id, v.load, v.seq
  from waiting w
  join versions_screens v on v.row_id = w.row_id and v.load = w.load and v.file = w.file and v.line = w.line
  where w.table_name = 'screens'
  union all
  select distinct 'serum', v.unit, v.local_month, v.row_id, v.load, v.seq
  from waiting w
  join versions_serum v on v.row_id = w.row_id and v.load = w.load and v.file = w.file and v.line = w.line
  where w.table_name = 'serum'
)
select
  concat(table_name, ', unit ', coalesce(unit, 'unknown')) as about, month,
  concat(
    cast(count(*) as varchar), case when count(*) = 1 then ' row waits' else ' rows wait' end,
    ' for a baby under an id that is a mother''s'
  ) as found,
  cast(count(*) as bigint) as n
from placed
group by table_name, coalesce(unit, 'unknown'), month
order by about, month nulls last
