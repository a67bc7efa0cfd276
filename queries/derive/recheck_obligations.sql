-- title: Recheck obligations, and how each ended
-- grain: one row per obligation: one trigger under one recheck rule
-- order: month, rule, infant_id, trigger_s, trigger_table, trigger_id
-- reads: recheck_triggers, judged_serum, judged_screens, courses, exits, known_until
-- needs: births, screens, serum, phototherapy, stays
-- looks back: not at all
-- looks ahead: the longest window and 24 h after the trigger
-- choices: Outcome is the first that holds of: open (follow-up has not passed at data end, tested or
--   not, as else tested ones would count before the others), on_time, excused, left (died or
--   transferred out for good in [trigger, latest), and not admitted again by the end of the follow-up),
--   disposition_unknown (a stay ended there without one: left out), late, early_only, none. Data end is the earliest of the tables needed. The tolerance
--   widens the window only for on_time, late and early_only. A screen is accepted from the rule's
--   hours after the trigger on. What happened after data end does not exist yet. tested_s is the
--   first test that the outcome counts, the last one of those only before the window.
with triggers as (
  select t.*, u.all_s as data_end_s
  from recheck_triggers t
  cross join known_until u
),
tests as (
  select infant_id, collected_s as at_s, 'serum' as test from judged_serum where is_valid
  union all
  select infant_id, measured_s, 'screen' from judged_screens
),
tested as (
  select
    m.rule, m.trigger_table, m.trigger_id,
    min(case
      when t.at_s - m.trigger_s >= m.earliest_s - m.recheck_tolerance_s
        and t.at_s - m.trigger_s <= m.latest_s + m.recheck_tolerance_s then t.at_s
    end) as in_window_s,
    min(case when t.at_s - m.trigger_s > m.latest_s + m.recheck_tolerance_s then t.at_s end) as after_window_s,
    max(case when t.at_s - m.trigger_s < m.earliest_s - m.recheck_tolerance_s then t.at_s end) as before_window_s
  from triggers m
  join tests t
    on t.infant_id = m.infant_id
    and t.at_s <= m.data_end_s
    and t.at_s >= m.trigger_s + m.recheck_accept_after_s
    and t.at_s <= m.trigger_s + m.latest_s + m.recheck_late_until_s
    and (t.test = 'serum' or (m.accepts = 'serum_or_screen' and t.at_s >= m.trigger_s + m.screens_from_s))
  where m.left_out is null
  group by m.rule, m.trigger_table, m.trigger_id
),
excused as (
  select distinct m.rule, m.trigger_table, m.trigger_id
  from triggers m
  join courses c on c.infant_id = m.infant_id
  where (m.excused_when = 'course_starts_after_trigger'
      and c.start_s > m.trigger_s and c.start_s <= least(m.trigger_s + m.excused_within_s, m.data_end_s))
    or (m.excused_when = 'course_starts_from_trigger'
      and c.start_s >= m.trigger_s and c.start_s <= least(m.trigger_s + m.excused_within_s, m.data_end_s))
    or (m.excused_when = 'course_ends_before' and c.course_no = m.course_no
      and c.end_s >= m.trigger_s and c.end_s < m.trigger_s + m.excused_within_s and c.end_s <= m.data_end_s)
    or (m.excused_when = 'course_ends_by' and c.course_no = m.course_no
      and c.end_s > m.trigger_s and c.end_s <= least(m.trigger_s + m.excused_within_s, m.data_end_s))
),
left_after as (
  select
    m.rule, m.trigger_table, m.trigger_id,
    bool_or(e.how in ('died', 'transfer')) as has_left
  from triggers m
  join exits e
    on e.infant_id = m.infant_id and e.known_s <= m.data_end_s
    and e.at_s >= m.trigger_s and e.at_s < m.trigger_s + m.latest_s
    and coalesce(e.back_s > least(m.trigger_s + m.latest_s + m.recheck_late_until_s, m.data_end_s), true)
  group by m.rule, m.trigger_table, m.trigger_id
),
judged as (
  select
    m.*, t.in_window_s, t.after_window_s, t.before_window_s,
    case
      when m.left_out is not null then null
      when m.data_end_s < m.trigger_s + m.latest_s + m.recheck_late_until_s then 'open'
      when t.in_window_s is not null then 'on_time'
      when x.trigger_id is not null then 'excused'
      when o.has_left then 'left'
      when not o.has_left then 'disposition_unknown'
      when t.after_window_s is not null then 'late'
      when t.before_window_s is not null then 'early_only'
      else 'none'
    end as ended
  from triggers m
  left join tested t on t.rule = m.rule and t.trigger_table = m.trigger_table and t.trigger_id = m.trigger_id
  left join excused x on x.rule = m.rule and x.trigger_table = m.trigger_table and x.trigger_id = m.trigger_id
  left join left_after o on o.rule = m.rule and o.trigger_table = m.trigger_table and o.trigger_id = m.trigger_id
)
select
  rule, trigger_kind, infant_id, trigger_table, trigger_id, trigger_s, unit, version, age_s, gestation_days, gap_micro,
  earliest_s, latest_s, accepts,
  case when ended = 'disposition_unknown' then ended else left_out end as left_out,
  case when ended <> 'disposition_unknown' then ended end as outcome,
  case ended
    when 'on_time' then in_window_s
    when 'late' then after_window_s
    when 'early_only' then before_window_s
  end as tested_s,
  month
from judged
