-- title: Results of serum, current version, and whether they count
-- grain: one row per live result: of a specimen and what was measured in it
-- order: month, infant_id, collected_s, specimen_id
-- reads: serum, corrected_serum, aged_tests, protocol_versions, protocol_codes
-- looks back: not at all
-- looks ahead: not at all
-- choices: Valid: total bilirubin in serum or plasma, final or corrected, with a number or bound.
--   Value and status are those of the last version; the result time is the earliest one of a
--   final or corrected version. Failed attempt: the same test, not preliminary, cancelled or
--   without a number. Above the line: greater than it, or at least it, as the protocol says.
with first_result as (
  select specimen_id, min(case when status in ('final', 'corrected') then resulted_s end) as resulted_s
  from corrected_serum
  group by specimen_id
),
aged as (
  select
    s.specimen_id, s.infant_id, coalesce(s.unit, 'unknown') as unit, s.collected_s,
    case
      when r.specimen_id is not null then r.resulted_s
      when s.status in ('final', 'corrected') then s.resulted_s
    end as resulted_s,
    s.local_day, s.local_hour, s.is_weekend, s.status, s.value_micro, s.compare_micro, s.bound,
    t.age_s, t.known_from_s, t.gestation_days, t.gestation_weeks, t.version, v.above_is_strict, t.line_micro, t.exchange_line_micro,
    t.in_or_after_phototherapy, t.in_course_no, t.month,
    ca.code is not null as is_total, s.specimen,
    ca.code is not null and cs.code is not null as is_total_in_serum
  from serum s
  join aged_tests t on t.test_table = 'serum' and t.test_id = s.specimen_id
  join protocol_versions v on v.version = t.version
  left join first_result r on r.specimen_id = s.specimen_id
  left join protocol_codes ca
    on ca.version = v.version and ca.purpose = 'total_bilirubin' and ca.code = s.analyte
  left join protocol_codes cs
    on cs.version = v.version and cs.purpose = 'serum_specimen' and cs.code = coalesce(s.specimen, '')
)
select
  specimen_id, infant_id, unit, collected_s, known_from_s, resulted_s, local_day, local_hour, is_weekend,
  status, value_micro, compare_micro, bound, age_s, gestation_days, gestation_weeks, version,
  is_total, specimen, is_total_in_serum,
  is_total_in_serum and status in ('final', 'corrected') and value_micro is not null as is_valid,
  is_total_in_serum and status <> 'preliminary' and (status = 'cancelled' or value_micro is null) as is_failed_attempt,
  line_micro,
  line_micro - value_micro as gap_micro,
  case when above_is_strict then compare_micro > line_micro else compare_micro >= line_micro end as is_above_line,
  exchange_line_micro,
  case when above_is_strict then compare_micro > exchange_line_micro else compare_micro >= exchange_line_micro end
    as is_above_exchange_line,
  in_or_after_phototherapy, in_course_no, month
from aged
