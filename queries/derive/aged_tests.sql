-- title: Screens and serum with age, line and phototherapy
-- grain: one row per live screen and per live serum specimen
-- order: month, infant_id, at_s, test_table, test_id
-- reads: screens, serum, known_births, line_risks, courses, protocol_versions, protocol_limits, protocol_lines
-- looks back: to the birth, and to the last course before the test
-- looks ahead: not at all
-- choices: Judged by the protocol in force at the moment of the test. The line is straight between
--   tabled ages, by completed weeks, rounded half up to 1e-6 umol/L; an age below 0 reads it at
--   birth; without birth time or gestation, or below the lowest tabled gestation, there is none.
--   Of lines by risk, that of the baby's (line_risks); one left out has none.
--   In a course: [start, end). In or after phototherapy: until the protocol's hours after its end.
with tests as (
  select 'screens' as test_table, screen_id as test_id, infant_id, measured_s as at_s, local_month as month from screens
  union all
  select 'serum', specimen_id, infant_id, collected_s, local_month from serum
),
lines_by_risk as (
  select distinct standard from protocol_lines where risk <> 'any'
),
aged as (
  select
    t.*, greatest(t.at_s, b.birth_s) as known_from_s, b.gestation_days, b.gestation_weeks, t.at_s - b.born_s as age_s, v.version, v.standard, l.after_phototherapy_s,
    r.risk, r.is_unknown and s.standard is not null as rests_on_unknown_risk
  from known_births b
  join tests t on t.infant_id = b.infant_id
  join protocol_versions v on t.at_s >= v.from_s and t.at_s < v.to_s
  join protocol_limits l on l.version = v.version
  join line_risks r on r.infant_id = t.infant_id and r.version = v.version
  left join lines_by_risk s on s.standard = v.standard
),
treated as (
  select
    a.test_table, a.test_id,
    max(case when c.end_s is null or a.at_s < c.end_s then c.course_no end) as course_no
  from courses c
  join aged a
    on a.infant_id = c.infant_id and a.at_s >= c.start_s
    and (c.end_s is null or a.at_s < c.end_s + a.after_phototherapy_s)
  group by a.test_table, a.test_id
)
select
  a.test_table, a.test_id, a.infant_id, a.at_s, a.known_from_s, a.age_s, a.gestation_days, a.gestation_weeks, a.version,
  a.rests_on_unknown_risk and a.age_s is not null and a.gestation_weeks is not null as rests_on_unknown_risk,
  p.phototherapy_from_micro
    + (2 * (p.phototherapy_to_micro - p.phototherapy_from_micro) * (greatest(a.age_s, 0) - p.age_from_s)
        + (p.age_to_s - p.age_from_s)) / (2 * (p.age_to_s - p.age_from_s)) as line_micro,
  p.exchange_from_micro
    + (2 * (p.exchange_to_micro - p.exchange_from_micro) * (greatest(a.age_s, 0) - p.age_from_s)
        + (p.age_to_s - p.age_from_s)) / (2 * (p.age_to_s - p.age_from_s)) as exchange_line_micro,
  t.test_id is not null as in_or_after_phototherapy, t.course_no as in_course_no, a.month
from aged a
left join protocol_lines p
  on a.age_s is not null and p.standard = a.standard and p.gestation_weeks = a.gestation_weeks and p.risk in ('any', a.risk)
  and greatest(a.age_s, 0) >= p.age_from_s and greatest(a.age_s, 0) < p.age_to_s
left join treated t on t.test_table = a.test_table and t.test_id = a.test_id
