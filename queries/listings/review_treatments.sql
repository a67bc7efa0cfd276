-- title: Serum above the line of the babies of a case review, and phototherapy after it
-- grain: one row per such serum
-- reads: cases_to_review, above_line_serum, protocol_limits
select
  a.infant_id, a.specimen_id, a.unit, a.collected_s, a.line_micro, a.result_s, a.started_s,
  l.treatment_in_time_s as in_time_s, l.treatment_follow_up_s as follow_up_s, coalesce(a.outcome, a.left_out) as outcome
from above_line_serum a
join (select distinct infant_id from cases_to_review) r on r.infant_id = a.infant_id
join protocol_limits l on l.version = a.version
where coalesce(a.left_out, 'stop_unknown') in ('stop_unknown', 'disposition_unknown')
order by a.infant_id, a.specimen_id
