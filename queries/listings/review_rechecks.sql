-- title: Recheck obligations of the babies of a case review
-- grain: one row per obligation
-- reads: cases_to_review, recheck_obligations, recheck_triggers, judged_screens, judged_serum, data_ends
-- choices: tested_s is the first accepted test that the outcome counts, the last one of those only
--   before the window; the rules are those of recheck_obligations.sql. Without an outcome, or where
--   no test ended the obligation, it is empty.
with obligations as (
  select
    o.rule, o.trigger_kind, o.trigger_table, o.trigger_id, o.infant_id, o.unit, o.trigger_s, o.gap_micro, o.earliest_s,
    o.latest_s, o.accepts, coalesce(o.outcome, o.left_out) as outcome,
    t.screens_from_s, t.recheck_tolerance_s, t.recheck_accept_after_s, t.recheck_late_until_s, d.data_end_s
  from recheck_obligations o
  join (select distinct infant_id from cases_to_review) r on r.infant_id = o.infant_id
  join recheck_triggers t on t.rule = o.rule and t.trigger_table = o.trigger_table and t.trigger_id = o.trigger_id
  cross join (
    select min(through_s) as data_end_s
    from data_ends
    where table_name in ('births', 'screens', 'serum', 'phototherapy', 'stays')
  ) d
),
tests as (
  select infant_id, collected_s as at_s, 'serum' as test from judged_serum where is_valid
  union all
  select infant_id, measured_s, 'screen' from judged_screens
),
tested as (
  select
    o.rule, o.trigger_table, o.trigger_id,
    min(case
      when t.at_s - o.trigger_s >= o.earliest_s - o.recheck_tolerance_s
        and t.at_s - o.trigger_s <= o.latest_s + o.recheck_tolerance_s then t.at_s
    end) as in_window_s,
    min(case when t.at_s - o.trigger_s > o.latest_s + o.recheck_tolerance_s then t.at_s end) as after_window_s,
    max(case when t.at_s - o.trigger_s < o.earliest_s - o.recheck_tolerance_s then t.at_s end) as before_window_s
  from obligations o
  join tests t
    on t.infant_id = o.infant_id and t.at_s <= o.data_end_s
    and t.at_s >= o.trigger_s + o.recheck_accept_after_s
    and t.at_s <= o.trigger_s + o.latest_s + o.recheck_late_until_s
    and (t.test = 'serum' or (o.accepts = 'serum_or_screen' and t.at_s >= o.trigger_s + o.screens_from_s))
  group by o.rule, o.trigger_table, o.trigger_id
)
select
  o.infant_id, o.rule, o.trigger_kind, o.trigger_table, o.trigger_id, o.unit, o.trigger_s, o.gap_micro,
  o.earliest_s, o.latest_s, o.recheck_late_until_s as late_until_s, o.accepts, o.outcome,
  case o.outcome
    when 'on_time' then t.in_window_s
    when 'late' then t.after_window_s
    when 'early_only' then t.before_window_s
  end as tested_s
from obligations o
left join tested t on t.rule = o.rule and t.trigger_table = o.trigger_table and t.trigger_id = o.trigger_id
order by o.infant_id, o.trigger_s, o.rule, o.trigger_table, o.trigger_id
