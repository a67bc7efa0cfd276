-- title: Screens with age, line, and whether they call for a serum
-- grain: one row per live screen
-- reads: screens, births, courses, protocol_versions, protocol_limits, protocol_clauses, protocol_lines
-- looks back: to the birth, and to the last course before the screen
-- looks ahead: not at all
-- choices: left_out is the first reason for which the screen cannot call for a serum. A screen is
--   due when nothing leaves it out and a clause holds; meets_plain_clause says whether one holds
--   that needs no line. The gap is line minus value. An age below 0 reads the line at birth.
with aged as (
  select
    s.screen_id, s.infant_id, s.measured_s, s.bound, s.value_micro, s.compare_micro,
    s.local_day, s.local_hour, s.is_weekend, s.local_month as month, coalesce(s.unit, 'unknown') as unit,
    b.gestation_days, b.gestation_weeks, s.measured_s - b.born_s as age_s, b.infant_id is not null and b.born_s is not null as has_age,
    v.version, v.standard, l.referral_gestation_days, l.referral_age_above_s, l.after_phototherapy_s
  from screens s
  join births b on b.infant_id = s.infant_id
  join protocol_versions v on s.measured_s >= v.from_s and s.measured_s < v.to_s
  join protocol_limits l on l.version = v.version
),
lined as (
  select
    a.screen_id,
    p.phototherapy_from_micro
      + (2 * (p.phototherapy_to_micro - p.phototherapy_from_micro) * (greatest(a.age_s, 0) - p.age_from_s)
          + (p.age_to_s - p.age_from_s)) / (2 * (p.age_to_s - p.age_from_s)) as line_micro
  from aged a
  join protocol_lines p
    on p.standard = a.standard and p.gestation_weeks = a.gestation_weeks and p.risk = 'any'
    and greatest(a.age_s, 0) >= p.age_from_s and greatest(a.age_s, 0) < p.age_to_s
  where a.age_s is not null
),
treated as (
  select distinct a.screen_id
  from aged a
  join courses c
    on c.infant_id = a.infant_id and a.measured_s >= c.start_s
    and (c.end_s is null or a.measured_s < c.end_s + a.after_phototherapy_s)
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
      when k.clause = 'line_minus' and a.compare_micro >= l.line_micro - k.limit_micro then 1
      else 0
    end) as meets_line_clause
  from aged a
  join protocol_clauses k on k.version = a.version
  left join lined l on l.screen_id = a.screen_id
  group by a.screen_id
),
judged as (
  select
    a.*, l.line_micro, l.line_micro - a.value_micro as gap_micro,
    t.screen_id is not null as in_or_after_phototherapy,
    coalesce(k.meets_plain_clause, 0) = 1 as meets_plain_clause,
    coalesce(k.meets_line_clause, 0) = 1 as meets_line_clause,
    case
      when not a.has_age then 'birth_time_unknown'
      when a.gestation_days is null then 'gestation_unknown'
      when a.gestation_days < a.referral_gestation_days then 'gestation_below_limit'
      when l.line_micro is null then 'no_line'
      when a.age_s <= a.referral_age_above_s then 'age_below_limit'
      when t.screen_id is not null then 'phototherapy'
    end as left_out
  from aged a
  left join lined l on l.screen_id = a.screen_id
  left join treated t on t.screen_id = a.screen_id
  left join clauses k on k.screen_id = a.screen_id
)
select
  screen_id, infant_id, unit, measured_s, local_day, local_hour, is_weekend,
  value_micro, compare_micro, bound, age_s, gestation_days, gestation_weeks, version,
  line_micro, gap_micro, in_or_after_phototherapy, left_out, meets_plain_clause,
  left_out is null and (meets_plain_clause or meets_line_clause) as is_due,
  month
from judged
order by month, infant_id, measured_s, screen_id
