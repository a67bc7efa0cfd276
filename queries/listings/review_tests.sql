-- title: All screens and serum of the babies of a case review
-- grain: one row per screen and per specimen
-- reads: cases_to_review, judged_screens, judged_serum, screens, serum, rises
-- choices: state is valid for a serum that counts, failed for an attempt without a number, pending
--   for a preliminary one, other where it is no total bilirubin in serum or plasma; screen for a
--   screen. rise_micro and apart_s are those of a fast rise since the test of that kind before.
with babies as (
  select distinct infant_id from cases_to_review
),
tests as (
  select
    'screens' as test_table, j.screen_id as test_id, j.infant_id, j.unit, j.measured_s as at_s, j.value_micro, j.bound,
    s.value_text, 'screen' as state, cast(null as varchar) as status, cast(null as bigint) as resulted_s, j.line_micro,
    cast(null as bigint) as exchange_line_micro, j.is_due, cast(null as boolean) as is_above_line, j.left_out,
    r.rise_micro, r.apart_s
  from judged_screens j
  join babies b on b.infant_id = j.infant_id
  join screens s on s.screen_id = j.screen_id
  left join rises r on r.test_table = 'screens' and r.second_id = j.screen_id
  union all
  select
    'serum', j.specimen_id, j.infant_id, j.unit, j.collected_s, j.value_micro, j.bound,
    s.value_text,
    case
      when j.is_valid then 'valid'
      when j.is_failed_attempt then 'failed'
      when j.is_total_in_serum then 'pending'
      else 'other'
    end,
    j.status, j.resulted_s, j.line_micro, j.exchange_line_micro, null, j.is_above_line, null,
    r.rise_micro, r.apart_s
  from judged_serum j
  join babies b on b.infant_id = j.infant_id
  join serum s on s.specimen_id = j.specimen_id
  left join rises r on r.test_table = 'serum' and r.second_id = j.specimen_id
)
select *
from tests
order by infant_id, at_s, test_table, test_id
