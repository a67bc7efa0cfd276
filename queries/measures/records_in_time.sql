-- title: Records in time
-- what: Of births, stays, screens and specimens, those that came soon after the end of their month.
-- grain: one row per row that came
-- reads: births, stays, screens, serum, first_loads, ledger, quality_limits
-- needs: births, serum
-- kind: proportion
-- outcomes: in_time, late
-- figures: record_quality_births_in_time = in_time / in_time + late;
--   record_quality_stays_in_time = in_time / in_time + late;
--   record_quality_screens_in_time = in_time / in_time + late;
--   record_quality_serum_in_time = in_time / in_time + late
-- labels: record_quality_births_in_time = Births told in time;
--   record_quality_stays_in_time = Stays told in time; record_quality_screens_in_time = Screens told in time;
--   record_quality_serum_in_time = Specimens told in time
-- quantity: share
-- cases: babies
-- choices: A row is late when the first version of its id came by a load more than late_days after
--   the end of its month; a later correction does not make it late. The day of a load is that of
--   UTC. A row set aside came when it could be read, one that waited for another when it was first
--   told. late_days is common practice.
-- left out: rows of months so old when their table was loaded for the first time that no row of
--   them could have been in time (loaded_as_history)
-- better: higher
-- direction: higher is better
-- chart: none
-- source: local definition
with loads as (
  select load, cast(cast(cast(to_timestamp_seconds(min(loaded_at_s)) as date) as int) as bigint) as day_no
  from ledger
  group by load
),
live as (
  select 'births' as table_name, month, unit, row_id, of_infant_id, event_s, load from births
  union all
  select 'stays', month, unit, row_id, of_infant_id, event_s, load from stays
  union all
  select 'screens', month, unit, row_id, of_infant_id, event_s, load from screens
  union all
  select 'serum', month, unit, row_id, of_infant_id, event_s, load from serum
),
arrived as (
  select
    r.table_name, r.month, r.unit, r.row_id, r.of_infant_id as infant_id, r.event_s as at_s, coalesce(f.load, r.load) as load
  from first_loads f
  right join live r on f.table_name = r.table_name and f.row_id = r.row_id
),
months as (
  select
    month,
    cast(cast(cast(cast(concat(month, '-01') as date) + interval '1 month' as date) as int) as bigint) as end_day_no
  from arrived
  group by month
),
dated as (
  select
    concat(a.table_name, '_in_time') as figure, a.month, a.unit, a.infant_id, a.row_id, a.at_s,
    m.end_day_no + q.late_days as last_day_no, l.day_no, s.day_no as first_day_no
  from arrived a
  join months m on m.month = a.month
  join loads l on l.load = a.load
  join first_loads f on f.table_name = a.table_name and f.row_id is null
  join loads s on s.load = f.load
  cross join quality_limits q
)
select
  concat('record_quality_', figure) as figure, month, coalesce(nullif(unit, ''), 'unknown') as unit, infant_id,
  row_id as case_id, at_s,
  case when first_day_no > last_day_no then 'left_out' else 'outcome' end as kind,
  case
    when first_day_no > last_day_no then 'loaded_as_history'
    when day_no > last_day_no then 'late'
    else 'in_time'
  end as name,
  cast(null as varchar) as also
from dated
