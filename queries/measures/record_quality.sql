-- title: Record quality
-- what: How complete the records are that the other measures rest on: of births, those with a time
--   of birth, a gestation, a unit, the feeding and the skin tone; of final or corrected specimens,
--   those with a time of the result.
-- grain: one row per month, unit, figure and outcome
-- reads: births, judged_serum, data_ends
-- needs: births, serum
-- kind: proportion
-- outcomes: complete, incomplete
-- figures: record_quality_birth_time = complete / complete + incomplete;
--   record_quality_gestation = complete / complete + incomplete;
--   record_quality_birth_unit = complete / complete + incomplete;
--   record_quality_feeding = complete / complete + incomplete;
--   record_quality_skin_tone = complete / complete + incomplete;
--   record_quality_result_time = complete / complete + incomplete
-- choices: A birth known by day only lacks its time. Any gestation counts, also whole weeks, as the
--   measures take both. Any word counts for feeding and skin tone, only an empty cell does not.
--   Specimens of every kind count, not only valid ones: the time is the laboratory's for all; it is
--   the earliest of a final or corrected version, the one the clocks start from. Cancelled and
--   preliminary ones have no result to time. Births are of the month of birth and unit of birth,
--   specimens of the month and unit of collection; what happened after data end is not counted yet.
-- left out: nothing
-- direction: higher is better
-- chart: proportion by month
-- source: local definition
with ends as (
  select min(through_s) as data_end_s
  from data_ends
  where table_name in ('births', 'serum')
),
born as (
  select
    b.local_month as month, nullif(b.unit, '') as unit, b.born_s is not null as has_time,
    b.gestation_days is not null as has_gestation,
    nullif(b.feeding, '') is not null as has_feeding,
    nullif(b.skin_tone, '') is not null as has_skin_tone
  from births b
  cross join ends e
  where coalesce(b.born_s, b.born_day_s) <= e.data_end_s
),
told as (
  select 'record_quality_birth_time' as figure, month, unit, has_time as is_complete from born
  union all
  select 'record_quality_gestation', month, unit, has_gestation from born
  union all
  select 'record_quality_birth_unit', month, unit, unit is not null from born
  union all
  select 'record_quality_feeding', month, unit, has_feeding from born
  union all
  select 'record_quality_skin_tone', month, unit, has_skin_tone from born
  union all
  select 'record_quality_result_time', s.month, s.unit, s.resulted_s is not null
  from judged_serum s
  cross join ends e
  where s.status in ('final', 'corrected') and s.collected_s <= e.data_end_s
)
select
  figure, month, coalesce(unit, 'unknown') as unit, 'outcome' as kind,
  case when is_complete then 'complete' else 'incomplete' end as name,
  count(*) as n
from told
where month between $first_month and $last_month
group by 1, 2, 3, 4, 5
order by figure, month, unit, kind, name
