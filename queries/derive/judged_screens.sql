-- title: Screens, and whether they call for a serum
-- grain: one row per live screen
-- order: month, infant_id, measured_s, screen_id
-- reads: screens, aged_tests, protocol_limits, protocol_clauses
-- looks back: not at all
-- looks ahead: not at all
-- choices: The flags of a screen outside limits may overlap. A flag is empty where an empty cell
--   decides it; of two cells, only when the filled one does not settle it. is_outside_limits is
--   whether any flag is known to be raised.
--   left_out is the first reason for which the screen cannot call for a serum. A screen is
--   due when nothing leaves it out and a clause holds; meets_plain_clause says whether one holds
--   that needs no line. A screen is off limit when only its age, its gestation or phototherapy in or
--   before it kept it from calling, and it is at or above the line, or meets a clause that needs none.
--   The gap is line minus value. A bound compares as just more, or just less.
with aged as (
  select
    s.screen_id, s.infant_id, coalesce(s.unit, 'unknown') as unit, s.measured_s, s.local_day, s.local_hour, s.is_weekend,
    s.value_micro, s.compare_micro, s.bound, s.body_site, s.readings, s.setting, s.id_entry, s.meter_id, t.age_s, t.known_from_s, t.gestation_days, t.gestation_weeks,
    t.version, t.line_micro, t.in_or_after_phototherapy, t.in_course_no, t.month
  from screens s
  join aged_tests t on t.test_table = 'screens' and t.test_id = s.screen_id
),
clauses as (
  select
    a.screen_id,
    max(case
      when k.clause = 'value_above' and a.compare_micro > k.limit_micro then 1
      when k.clause = 'value_at_least' and a.compare_micro >= k.limit_micro then 1
      when k.clause = 'above_range' and a.bound = '>' then 1
      else 0
    end) as meets_plain_clause,
    max(case
      when k.clause = 'line_minus' and a.compare_micro >= a.line_micro - k.limit_micro then 1
      else 0
    end) as meets_line_clause
  from aged a
  join protocol_clauses k on k.version = a.version
  group by a.screen_id
),
judged as (
  select
    a.*,
    coalesce(k.meets_plain_clause, 0) = 1 as meets_plain_clause,
    coalesce(k.meets_line_clause, 0) = 1 as meets_line_clause,
    case
      when a.age_s is null then 'birth_time_unknown'
      when a.gestation_days is null then 'gestation_unknown'
      when a.gestation_days < l.referral_gestation_days then 'gestation_below_limit'
      when a.line_micro is null then 'no_line'
      when a.age_s <= l.referral_age_above_s then 'age_below_limit'
      when a.in_or_after_phototherapy then 'phototherapy'
    end as left_out,
    a.gestation_days < l.referral_gestation_days as gestation_below_limit,
    a.age_s <= l.referral_age_above_s as age_below_limit,
    nullif(a.setting, '') = 'outpatient' and a.age_s >= l.outpatient_age_at_least_s as outpatient_14_days,
    nullif(a.setting, '') = 'outpatient' and nullif(a.body_site, '') <> l.outpatient_body_site
      as outpatient_not_sternum,
    a.readings < l.meter_readings_at_least as few_readings,
    nullif(a.id_entry, '') = 'typed' as typed_identity,
    a.in_or_after_phototherapy as after_phototherapy
  from aged a
  join protocol_limits l on l.version = a.version
  left join clauses k on k.screen_id = a.screen_id
)
select
  screen_id, infant_id, unit, measured_s, known_from_s, local_day, local_hour, is_weekend,
  value_micro, compare_micro, bound, age_s, gestation_days, gestation_weeks, version,
  line_micro, line_micro - value_micro as gap_micro, in_or_after_phototherapy, left_out, meets_plain_clause,
  left_out is null and (meets_plain_clause or meets_line_clause) as is_due,
  coalesce(left_out in ('gestation_below_limit', 'age_below_limit', 'phototherapy'), false)
    and (meets_plain_clause or coalesce(compare_micro >= line_micro, false)) as is_off_limit,
  in_course_no is not null as in_course,
  meter_id, gestation_below_limit, age_below_limit, outpatient_14_days, outpatient_not_sternum, few_readings,
  typed_identity, after_phototherapy,
  coalesce(
    gestation_below_limit or age_below_limit or outpatient_14_days or outpatient_not_sternum or few_readings
      or typed_identity or after_phototherapy,
    false
  ) as is_outside_limits,
  month
from judged
