-- title: Record quality
-- what: How complete the records are that the other measures rest on: of births, those with a time
--   of birth, a gestation, a unit, the feeding and the skin tone; of final or corrected specimens,
--   those with a time of the result. And of births, stays, screens and specimens, those that came
--   soon after the end of their month.
-- grain: one row per birth, specimen, and row that came; of a birth also names what is there
-- reads: births, stays, screens, serum, first_loads, judged_serum, known_until, ledger, quality_limits
-- needs: births, serum
-- kind: proportion
-- outcomes: complete, incomplete, in_time, late
-- figures: record_quality_birth_time = complete / complete + incomplete
--     from record_quality_births when birth_time;
--   record_quality_gestation = complete / complete + incomplete
--     from record_quality_births when gestation;
--   record_quality_birth_unit = complete / complete + incomplete
--     from record_quality_births when birth_unit;
--   record_quality_feeding = complete / complete + incomplete
--     from record_quality_births when feeding;
--   record_quality_skin_tone = complete / complete + incomplete
--     from record_quality_births when skin_tone;
--   record_quality_result_time = complete / complete + incomplete;
--   record_quality_births_in_time = in_time / in_time + late;
--   record_quality_stays_in_time = in_time / in_time + late;
--   record_quality_screens_in_time = in_time / in_time + late;
--   record_quality_serum_in_time = in_time / in_time + late
-- labels: record_quality_birth_time = Births with a time of birth;
--   record_quality_gestation = Births with a gestation; record_quality_birth_unit = Births with a unit;
--   record_quality_feeding = Births with the feeding; record_quality_skin_tone = Births with the skin tone;
--   record_quality_result_time = Results with a time; record_quality_births_in_time = Births told in time;
--   record_quality_stays_in_time = Stays told in time; record_quality_screens_in_time = Screens told in time;
--   record_quality_serum_in_time = Specimens told in time
-- quantity: share
-- cases: babies
-- choices: A birth known by day only lacks its time. Any gestation counts, also whole weeks, as the
--   measures take both. Any word counts for feeding and skin tone, only an empty cell does not.
--   Specimens of every kind count, not only valid ones: the time is the laboratory's for all; it is
--   the earliest of a final or corrected version, the one the clocks start from. Cancelled and
--   preliminary ones have no result to time. Births are of the month of birth and unit of birth,
--   specimens of the month and unit of collection; what happened after data end is not counted yet.
--   A row is late when the first version of its id came by a load more than late_days after the end
--   of its month; a later correction does not make it late. The day of a load is that of UTC. A row
--   set aside came when it could be read, one that waited for another when it was first told.
--   late_days is common practice.
-- left out: of the rows in time: rows of months so old when their table was loaded for the first
--   time that no row of them could have been in time (loaded_as_history)
-- better: higher
-- direction: higher is better
-- chart: none
-- source: local definition
with of_births as (
  select
    b.local_month as month, b.unit, b.infant_id, b.born_s,
    concat_ws(
      ' ',
      case when b.born_s is not null then 'birth_time' end,
      case when b.gestation_days is not null then 'gestation' end,
      case when b.unit <> '' then 'birth_unit' end,
      case when b.feeding <> '' then 'feeding' end,
      case when b.skin_tone <> '' then 'skin_tone' end
    ) as also
  from births b
  cross join known_until u
  where coalesce(b.born_s, b.born_day_s) <= u.serum_s
),
loads as (
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
),
cases as (
  select
    'births' as figure, month, unit, infant_id, infant_id as case_id, born_s as at_s, 'outcome' as kind,
    case also when 'birth_time gestation birth_unit feeding skin_tone' then 'complete' else 'incomplete' end as name,
    nullif(also, '') as also
  from of_births
  union all
  select
    'result_time', s.month, s.unit, s.infant_id, s.specimen_id, s.collected_s, 'outcome',
    case when s.resulted_s is null then 'incomplete' else 'complete' end, null
  from judged_serum s
  cross join known_until u
  where s.status in ('final', 'corrected') and s.collected_s <= u.serum_s
  union all
  select
    figure, month, unit, infant_id, row_id, at_s, case when first_day_no > last_day_no then 'left_out' else 'outcome' end,
    case
      when first_day_no > last_day_no then 'loaded_as_history'
      when day_no > last_day_no then 'late'
      else 'in_time'
    end,
    null
  from dated
)
select
  concat('record_quality_', figure) as figure, month, coalesce(nullif(unit, ''), 'unknown') as unit, infant_id, case_id, at_s,
  kind, name, also
from cases
