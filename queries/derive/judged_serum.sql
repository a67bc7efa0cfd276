-- title: Serum specimens, current version, with age, line and whether they count
-- grain: one row per live specimen
-- reads: serum, versions_serum, births, courses, protocol_versions, protocol_limits, protocol_codes, protocol_lines
-- looks back: to the birth, and to the last course before the collection
-- looks ahead: not at all
-- choices: Valid: total bilirubin in serum or plasma, final or corrected, with a number or bound.
--   Value and status are those of the last version; the result time is the earliest one of a
--   final or corrected version. Failed attempt: the same test, not preliminary, cancelled or
--   without a number. Above the line: greater than it, or at least it, as the protocol says.
--   In a course: [start, end); in or after phototherapy: until the protocol's hours after its end.
with first_result as (
  select row_id, min(resulted_s) as resulted_s
  from versions_serum
  where status in ('final', 'corrected') and resulted_s is not null
  group by row_id
),
aged as (
  select
    s.specimen_id, s.infant_id, s.collected_s, r.resulted_s, s.status, s.bound, s.value_micro, s.compare_micro,
    s.local_day, s.local_hour, s.is_weekend, s.local_month as month, coalesce(s.unit, 'unknown') as unit,
    b.gestation_days, b.gestation_weeks, s.collected_s - b.born_s as age_s,
    v.version, v.standard, v.above_is_strict, l.after_phototherapy_s,
    ca.code is not null and cs.code is not null as is_total_in_serum
  from serum s
  join births b on b.infant_id = s.infant_id
  join protocol_versions v on s.collected_s >= v.from_s and s.collected_s < v.to_s
  join protocol_limits l on l.version = v.version
  left join first_result r on r.row_id = s.specimen_id
  left join protocol_codes ca
    on ca.version = v.version and ca.purpose = 'total_bilirubin' and ca.code = s.analyte
  left join protocol_codes cs
    on cs.version = v.version and cs.purpose = 'serum_specimen' and cs.code = coalesce(s.specimen, '')
),
lined as (
  select
    a.specimen_id,
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
  select
    a.specimen_id,
    max(case when c.end_s is null or a.collected_s < c.end_s then c.course_no end) as course_no
  from aged a
  join courses c
    on c.infant_id = a.infant_id and a.collected_s >= c.start_s
    and (c.end_s is null or a.collected_s < c.end_s + a.after_phototherapy_s)
  group by a.specimen_id
)
select
  a.specimen_id, a.infant_id, a.unit, a.collected_s, a.resulted_s, a.local_day, a.local_hour, a.is_weekend,
  a.status, a.value_micro, a.compare_micro, a.bound, a.age_s, a.gestation_days, a.gestation_weeks, a.version,
  a.is_total_in_serum and a.status in ('final', 'corrected') and a.value_micro is not null as is_valid,
  a.is_total_in_serum and a.status <> 'preliminary'
    and (a.status = 'cancelled' or a.value_micro is null) as is_failed_attempt,
  l.line_micro,
  l.line_micro - a.value_micro as gap_micro,
  case when a.above_is_strict then a.compare_micro > l.line_micro else a.compare_micro >= l.line_micro end as is_above_line,
  t.specimen_id is not null as in_or_after_phototherapy,
  t.course_no as in_course_no,
  a.month
from aged a
left join lined l on l.specimen_id = a.specimen_id
left join treated t on t.specimen_id = a.specimen_id
order by a.month, a.infant_id, a.collected_s, a.specimen_id
