-- title: Missed referral
-- what: Screens that called for a serum, and whether one was collected: in time, late, or not at
--   all while the referral was followed.
-- grain: one row per screen: of a referral the screen that opened it
-- reads: referral_episodes, judged_screens, known_until
-- needs: births, screens, serum, phototherapy, stays
-- kind: proportion
-- outcomes: in_time, late, missed, left, open
-- figures: missed_referral = missed / in_time + late + missed;
--   referral_in_time = in_time / in_time + late + missed from missed_referral;
--   referral_failed_attempts = with_failed_attempt / with_failed_attempt + without from missed_referral
-- labels: missed_referral = Missed referral; referral_in_time = Serum in time;
--   referral_failed_attempts = Referral with a failed specimen
-- quantity: share
-- cases: referrals
-- starts with: kept screens of the month
-- dropped: after_data_end then by data end, could_not_call then could call for a serum, not_due then called for a
--   serum, same_referral then opened a referral
-- left out: screens that meet a clause needing no line but could not call for a serum, by reason;
--   episodes whose stay ended without a disposition before the window closed; episodes without an
--   answer of a baby with a recent serum below the line
-- better: lower; referral_in_time higher
-- direction: missed: lower is better; in time: higher is better
-- chart: proportion by month
-- source: referral clauses NICE CG98 or AAP 2022, as the protocol says; window, follow-up and
--   episode are local definitions
with cases as (
  select
    month, unit, infant_id, index_screen_id as case_id, index_s as at_s, outcome as name,
    case
      when outcome in ('disposition_unknown', 'recent_serum') then null
      when failed_attempts > 0 then 'with_failed_attempt'
      else 'without'
    end as also,
    case when outcome in ('disposition_unknown', 'recent_serum') then 'left_out' else 'outcome' end as kind
  from referral_episodes
  where kind = 'due'
  union all
  select s.month, s.unit, s.infant_id, s.screen_id, s.measured_s, s.left_out, null, 'left_out'
  from judged_screens s
  cross join known_until u
  where s.known_from_s <= u.all_s and s.left_out is not null and s.meets_plain_clause
)
select 'missed_referral' as figure, month, unit, infant_id, case_id, at_s, kind, name, also
from cases
