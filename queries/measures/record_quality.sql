-- title: Record quality
-- what: How complete the records are that the other measures rest on: of births, those with a time
--   of birth, a gestation, a unit, the feeding and the skin tone; of final or corrected specimens,
--   those with a time of the result.
-- grain: one row per birth and specimen; of a birth also names what is there
-- reads: births, judged_serum, known_until
-- needs: births, serum
-- kind: proportion
-- outcomes: complete, incomplete
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
--   record_quality_result_time = complete / complete + incomplete
-- labels: record_quality_birth_time = Births with a time of birth;
--   record_quality_gestation = Births with a gestation; record_quality_birth_unit = Births with a unit;
--   record_quality_feeding = Births with the feeding; record_quality_skin_tone = Births with the skin tone;
--   record_quality_result_time = Results with a time
-- quantity: share
-- cases: babies
-- choices: A birth known by day only lacks its time. Any gestation counts, also whole weeks, as the
--   measures take both. Any word counts for feeding and skin tone, only an empty cell does not.
--   Specimens of every kind count, not only valid ones: the time is the laboratory's for all; it is
--   the earliest of a final or corrected version, the one the clocks start from. Cancelled and
--   preliminary ones have no result to time. Births are of the month of birth and unit of birth,
--   specimens of the month and unit of collection; what happened after data end is not counted yet.
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
)
select
  concat('record_quality_', figure) as figure, month, coalesce(nullif(unit, ''), 'unknown') as unit, infant_id, case_id, at_s,
  kind, name, also
from cases
