-- title: Two babies of one mother have a test at the very same time, so one may carry the other's
-- grain: one row per finding: one table, unit and month
-- reads: births, screens, serum
-- level: warn
-- choices: Same second, as stored. Where a source writes times to the minute, twins tested one after
--   the other can share one rightly: a count to look into, not a fault proved. Two babies count once
--   for one table and second, however many tests each has. Of two units the first in the alphabet
--   is named. n counts pairs.
with tests as (
  select 'screens' as table_name, infant_id, event_s, local_month as month, coalesce(unit, 'unknown') as unit
  from screens
  union all
  select 'serum', infant_id, event_s, local_month, coalesce(unit, 'unknown')
  from serum
),
moments as (
  select t.table_name, t.month, min(t.unit) as unit, count(distinct t.infant_id) as babies
  from births b
  join tests t on t.infant_id = b.infant_id
  where b.mother_id is not null
  group by t.table_name, t.month, t.event_s, b.mother_id
),
counted as (
  select table_name, unit, month, sum(babies * (babies - 1) / 2) as pairs
  from moments
  where babies > 1
  group by table_name, unit, month
)
select
  concat(table_name, ', unit ', unit) as about, month,
  concat(
    cast(pairs as varchar), case when pairs = 1 then ' pair' else ' pairs' end,
    ' of babies of one mother with a test at the same second'
  ) as found,
  cast(pairs as bigint) as n
from counted
order by about, month
