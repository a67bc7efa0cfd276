-- title: Babies to review: what happened to them that a review looks at
-- grain: one row per case
-- reads: referral_episodes, recheck_obligations, above_line_serum, pairs, readmissions, severe_cases, stay_chains,
--   chained_stays, known_until, protocol_windows
-- choices: Cases are those the figures of the month count. Referrals missed and late; besides, a
--   referral without an answer of a baby who died is a case whatever its outcome, and a missed one is
--   marked. Rechecks without any test. Of serum above the line a baby is in one finding: never
--   treated, treated after the follow-up, or treated later than in time. A readmission counts in the
--   month of birth up to the protocol's longest age, as the figure does; one admitted in these months
--   of a baby born before them is listed too and marked, so the same case is told in the month of
--   birth and in that of admission. One after a birth stay of unknown disposition is listed too, in no
--   rate. case_key names the finding and the fact by its ids, so that later
--   loads and other months leave it as it is.
with deaths as (
  select s.infant_id, max(s.discharged_s) as died_s
  from chained_stays s
  cross join known_until u
  where s.disposition = 'died' and s.discharged_s <= u.stays_s
  group by s.infant_id
),
referrals as (
  select
    case r.outcome
      when 'missed' then 'missed_referral'
      when 'late' then 'late_referral'
      else 'referral_before_death'
    end as finding,
    r.index_screen_id, r.infant_id, r.unit, r.index_s, r.month,
    d.infant_id is not null and r.answer_specimen_id is null as is_before_death
  from referral_episodes r
  left join deaths d on d.infant_id = r.infant_id and d.died_s >= r.index_s
  where r.month between $first_month and $last_month
),
longest as (
  select version, max(within_s) as within_s
  from protocol_windows
  where purpose = 'readmission'
  group by version
),
readmitted as (
  select
    r.infant_id, r.unit, r.readmitted_s, r.month as birth_month, min(c.first_stay_id) as stay_id, min(c.month) as stay_month
  from readmissions r
  join longest w on w.version = r.version and r.readmitted_age_s <= w.within_s
  join stay_chains c on c.infant_id = r.infant_id and c.start_s = r.readmitted_s and not c.is_birth_stay
  where r.state in ('home', 'disposition_unknown')
  group by r.infant_id, r.unit, r.readmitted_s, r.month
),
cases as (
  select
    finding, concat(finding, '/', index_screen_id) as case_key, 'screens' as fact_table, index_screen_id as fact_id,
    cast(null as varchar) as beside, infant_id, unit, index_s as at_s, is_before_death, false as is_born_before, month
  from referrals
  where finding in ('missed_referral', 'late_referral') or is_before_death
  union all
  select
    'missed_recheck', concat('missed_recheck/', rule, '/', trigger_table, '/', trigger_id), trigger_table, trigger_id,
    rule, infant_id, unit, trigger_s, false, false, month
  from recheck_obligations
  where outcome = 'none' and month between $first_month and $last_month
  union all
  select
    t.finding, concat(t.finding, '/', t.specimen_id), 'serum', t.specimen_id, null, t.infant_id, t.unit, t.collected_s,
    false, false, t.month
  from (
    select
      case
        when outcome = 'late' then 'treated_late'
        when is_treated then 'treated_after_follow_up'
        else 'never_treated'
      end as finding,
      specimen_id, infant_id, unit, collected_s, month
    from above_line_serum
    where outcome in ('late', 'none') and month between $first_month and $last_month
  ) t
  union all
  select
    'dangerous_miss', concat('dangerous_miss/', screen_id), 'screens', screen_id, specimen_id, infant_id, unit, measured_s,
    false, false, month
  from pairs
  where left_out is null and outcome = 'above_line' and month between $first_month and $last_month
  union all
  select
    'readmission', concat('readmission/', stay_id), 'stays', stay_id, null, infant_id, unit, readmitted_s,
    false, birth_month < $first_month, case when birth_month < $first_month then stay_month else birth_month end
  from readmitted
  where birth_month between $first_month and $last_month
    or (birth_month < $first_month and stay_month between $first_month and $last_month)
  union all
  select
    concat('severe_jaundice_', case_kind), concat('severe_jaundice_', case_kind, '/', case_id),
    case case_kind when 'exchange_transfusion' then 'exchanges' when 'kernicterus_code' then 'stays' else 'serum' end,
    case_id, null, infant_id, unit, case_s, false, false, month
  from severe_cases
  where left_out is null and month between $first_month and $last_month
)
select
  finding, case_key, fact_table, fact_id, beside, infant_id, unit, at_s, is_before_death, is_born_before, month
from cases
order by case_key
