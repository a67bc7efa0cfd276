-- title: Rows are dated in the future, long ago, or when the baby was no newborn
-- grain: one row per finding: one table, month and kind
-- reads: births, screens, serum, phototherapy, stays, exchanges, meter_checks, ledger, quality_limits
-- level: warn
-- choices: In the future: dated later than its load, beyond a tolerance for clocks and zones. Long
--   ago: before a year no register of ours reaches, most likely a year of two digits or an empty
--   date that became a number. Old: a screen or serum at an age beyond the limit, most likely a wrong
--   birth date or another patient; a birth known by day counts from the start of that day. A row
--   counts once, by the first that holds. Limits: common practice.
with loads as (
  select load, max(loaded_at_s) as loaded_at_s from ledger group by load
),
dated as (
  select 'births' as table_name, cast(null as varchar) as infant_id, local_month as month, event_s, load from births
  union all
  select 'screens', infant_id, local_month, event_s, load from screens
  union all
  select 'serum', infant_id, local_month, event_s, load from serum
  union all
  select 'phototherapy', cast(null as varchar), local_month, event_s, load from phototherapy
  union all
  select 'stays', cast(null as varchar), local_month, event_s, load from stays
  union all
  select 'exchanges', cast(null as varchar), local_month, event_s, load from exchanges
  union all
  select 'meter_checks', cast(null as varchar), local_month, event_s, load from meter_checks
),
judged as (
  select
    d.table_name, d.month,
    case
      when d.event_s > l.loaded_at_s + q.after_load_s then 'later than the load that brought them'
      when d.event_s < q.earliest_s then 'longer ago than the register can reach'
      when d.event_s > coalesce(b.born_s, b.born_day_s) + q.test_age_s then 'at an age no newborn has'
    end as what
  from births b
  right join dated d on d.infant_id = b.infant_id
  join loads l on l.load = d.load
  cross join quality_limits q
)
select
  table_name as about, month,
  concat(cast(count(*) as varchar), case when count(*) = 1 then ' row dated ' else ' rows dated ' end, what) as found,
  cast(count(*) as bigint) as n
from judged
where what is not null
group by table_name, month, what
order by about, month, what
