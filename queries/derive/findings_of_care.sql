-- title: What a review looks at for what was done, or was not
-- grain: one row per finding
-- order: month, infant_id, case_key
-- kept: while deriving
-- reads: referral_episodes, judged_screens, judged_serum, recheck_obligations, above_line_serum, pairs, readmissions,
--   severe_cases, rises, home_at_risk, stay_chains, lowest_lines, known_until, protocol_limits, protocol_windows
-- looks back: not at all
-- looks ahead: the follow-up of each
-- choices: What a rate leaves out is a finding too, with the reason as its outcome: a referral, a wait for
--   phototherapy or a recheck of a baby that died, moved away or left without a disposition, or that is open
--   and past its window. So is, of a baby whose age, gestation or line is not known, its highest screen without a
--   serum in the referral's follow-up, when it meets a clause needing no line or is at or above the lowest
--   line that what is known allows. Lamps more than the time allowed after
--   collection are late, whenever the result came. A readmission counts up to the protocol's longest
--   age, or at an unknown one, whatever the figure leaves out.
with referrals as (
  select
    case
      when e.outcome in ('missed', 'late') then e.outcome
      when e.outcome in ('left', 'disposition_unknown', 'recent_serum') then 'unanswered'
      when e.outcome = 'open' and e.answer_specimen_id is null and u.all_s >= e.index_s + e.within_s then 'unanswered'
    end as how,
    e.*
  from referral_episodes e
  cross join known_until u
),
undecided as (
  select
    s.screen_id, s.infant_id, s.unit, s.measured_s, s.left_out, s.month,
    row_number() over (partition by s.infant_id, s.left_out order by s.compare_micro desc, s.measured_s, s.screen_id) as place
  from judged_screens s
  cross join known_until u
  join protocol_limits l on l.version = s.version
  left join lowest_lines w on w.test_table = 'screens' and w.test_id = s.screen_id
  left join judged_serum v
    on v.infant_id = s.infant_id and v.is_valid and v.collected_s <= u.all_s
    and v.collected_s >= s.measured_s - l.paired_before_s and v.collected_s <= s.measured_s + l.referral_follow_up_s
  where s.known_from_s <= u.all_s and v.specimen_id is null
    and s.left_out in ('birth_time_unknown', 'gestation_unknown', 'no_line')
    and (s.meets_plain_clause or s.compare_micro >= w.lowest_micro)
),
waits as (
  select
    case
      when a.outcome = 'late' then 'treated_late'
      when a.outcome = 'none' and a.is_treated then 'treated_after_follow_up'
      when a.outcome = 'none' then 'never_treated'
      when a.outcome = 'in_time' and a.started_s > a.collected_s + l.treatment_in_time_s then 'treated_late_after_collection'
      when a.outcome = 'left' or a.left_out in ('disposition_unknown', 'stop_unknown') then 'untreated'
      when a.outcome = 'open' and u.treatment_s >= a.result_s + l.treatment_in_time_s
        and coalesce(a.started_s > a.result_s + l.treatment_in_time_s, true) then 'untreated'
    end as finding,
    coalesce(a.outcome, a.left_out) as outcome, a.specimen_id, a.infant_id, a.unit, a.collected_s, a.month
  from above_line_serum a
  cross join known_until u
  join protocol_limits l on l.version = a.version
),
first_rises as (
  select *, row_number() over (partition by infant_id, test_table order by at_s, second_id) as place
  from rises
),
longest as (
  select version, max(within_s) as within_s from protocol_windows where purpose = 'readmission' group by version
),
found as (
  select
    case when how = 'late' then 4 else 3 end as grade,
    concat(how, case kind when 'off_limit' then '_off_limit' else '' end, '_referral') as finding,
    case when how = 'unanswered' then outcome end as outcome, 'screens' as fact_table, index_screen_id as fact_id,
    cast(null as varchar) as beside, infant_id, unit, index_s as at_s, month
  from referrals
  where how is not null
  union all
  select 3, 'unanswered_referral', left_out, 'screens', screen_id, null, infant_id, unit, measured_s, month from undecided
  where place = 1
  union all
  select
    case when finding in ('treated_late', 'treated_late_after_collection') then 4 else 2 end, finding,
    case when finding = 'untreated' then outcome end, 'serum', specimen_id, null, infant_id, unit, collected_s, month
  from waits
  where finding is not null
  union all
  select
    4, case when outcome = 'none' then 'missed_recheck' else 'recheck_not_done' end,
    case when coalesce(outcome, '') <> 'none' then coalesce(outcome, left_out) end, trigger_table, trigger_id, rule, infant_id, unit,
    trigger_s, month
  from recheck_obligations
  where outcome in ('none', 'early_only', 'left') or left_out in ('stop_unknown', 'disposition_unknown')
  union all
  select 3, 'dangerous_miss', null, 'screens', screen_id, specimen_id, infant_id, unit, measured_s, month
  from pairs
  where left_out is null and outcome = 'above_line'
  union all
  select 3, 'rapid_rise', left_out, test_table, second_id, first_id, infant_id, unit, at_s, month from first_rises where place = 1
  union all
  select
    case case_kind when 'near_exchange_line' then 3 else 1 end, concat('severe_jaundice_', case_kind), null,
    case case_kind when 'near_exchange_line' then 'serum' when 'exchange_transfusion' then 'exchanges' else 'stays' end,
    case_id, null, infant_id, unit, case_s, month
  from severe_cases
  where left_out is null and case_kind in ('near_exchange_line', 'exchange_transfusion', 'kernicterus_code')
  union all
  select 4, 'home_at_risk', what, fact_table, fact_id, null, infant_id, unit, home_s, month from home_at_risk
  where what = 'referral_unanswered' or not is_tested
  union all
  select 5, 'readmission', null, 'stays', c.first_stay_id, null, r.infant_id, r.unit, r.readmitted_s, c.month
  from readmissions r
  join longest w on w.version = r.version and coalesce(r.readmitted_age_s <= w.within_s, true)
  join stay_chains c on c.infant_id = r.infant_id and c.start_s = r.readmitted_s and not c.is_birth_stay
)
select
  grade, finding, outcome,
  concat_ws('/', finding, outcome, case when finding in ('missed_recheck', 'recheck_not_done') then concat(beside, '/', fact_table) end, fact_id)
    as case_key,
  fact_table, fact_id, beside, infant_id, unit, at_s, month
from found
