-- title: Missed referral
-- what: Screens that called for a serum, and whether one was collected: in time, late, or not at
--   all while the referral was followed.
-- grain: one row per figure and screen: of a referral the screen that opened it
-- reads: referral_episodes, judged_screens, births, data_ends
-- needs: births, screens, serum, phototherapy, stays
-- kind: proportion
-- outcomes: in_time, late, missed, left, open
-- figures: missed_referral = missed / in_time + late + missed;
--   referral_in_time = in_time / in_time + late + missed;
--   referral_failed_attempts = with_failed_attempt / with_failed_attempt + without
-- starts with: kept screens of the month
-- dropped: after_data_end then by data end, could_not_call then could call for a serum, not_due then called for a
--   serum, same_referral then opened a referral
-- left out: screens that meet a clause needing no line but could not call for a serum, by reason;
--   episodes whose stay ended without a disposition before the window closed
-- better: lower; referral_in_time higher
-- direction: missed: lower is better; in time: higher is better
-- chart: proportion by month
-- source: referral clauses NICE CG98 or AAP 2022, as the protocol says; window, follow-up and
--   episode are local definitions
with ends as (
  select min(through_s) as data_end_s
  from data_ends
  where table_name in ('births', 'screens', 'serum', 'phototherapy', 'stays')
),
figures as (
  select * from (values ('missed_referral'), ('referral_in_time'), ('referral_failed_attempts')) as f (figure)
),
screens as (
  select
    s.month, s.unit, s.infant_id, s.screen_id, s.measured_s, s.left_out, s.is_due, s.meets_plain_clause,
    b.infant_id is not null and s.measured_s <= e.data_end_s as is_known
  from judged_screens s
  cross join ends e
  left join births b on b.infant_id = s.infant_id and coalesce(b.born_s, b.born_day_s) <= e.data_end_s
  where s.month between $first_month and $last_month
),
cases as (
  select
    f.figure, r.month, r.unit, r.infant_id, r.index_screen_id as case_id, r.index_s as at_s,
    case when r.outcome = 'disposition_unknown' then 'left_out' else 'outcome' end as kind,
    case
      when f.figure <> 'referral_failed_attempts' or r.outcome = 'disposition_unknown' then r.outcome
      when r.failed_attempts > 0 then 'with_failed_attempt'
      else 'without'
    end as name
  from referral_episodes r
  cross join figures f
  where r.month between $first_month and $last_month
  union all
  select f.figure, s.month, s.unit, s.infant_id, s.screen_id, s.measured_s, 'left_out', s.left_out
  from screens s
  cross join figures f
  where s.is_known and s.left_out is not null and s.meets_plain_clause
  union all
  select
    f.figure, s.month, s.unit, s.infant_id, s.screen_id, s.measured_s, 'dropped',
    case
      when not s.is_known then 'after_data_end'
      when s.left_out is not null then 'could_not_call'
      when not s.is_due then 'not_due'
      else 'same_referral'
    end
  from screens s
  cross join figures f
  left anti join referral_episodes r on r.index_screen_id = s.screen_id
  where not (s.is_known and s.left_out is not null and s.meets_plain_clause)
)
select figure, month, unit, infant_id, case_id, at_s, kind, name
from cases
