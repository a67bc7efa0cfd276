-- title: Recheck obligations of the babies of a case review
-- grain: one row per obligation
-- reads: cases_to_review, recheck_obligations, recheck_triggers
-- choices: Of an obligation without an outcome the reason why it is left out stands in its place.
select
  o.infant_id, o.rule, o.trigger_kind, o.trigger_table, o.trigger_id, o.unit, o.trigger_s, o.gap_micro,
  o.earliest_s, o.latest_s, t.recheck_late_until_s as late_until_s, o.accepts,
  coalesce(o.outcome, o.left_out) as outcome, o.tested_s
from recheck_obligations o
join (select distinct infant_id from cases_to_review) r on r.infant_id = o.infant_id
join recheck_triggers t on t.rule = o.rule and t.trigger_table = o.trigger_table and t.trigger_id = o.trigger_id
order by o.infant_id, o.trigger_s, o.rule, o.trigger_table, o.trigger_id
