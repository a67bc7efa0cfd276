-- title: Missed referral
-- what: Screens that called for a serum, and whether one was collected: in time, late, or not at
--   all while the referral was followed.
-- grain: one row per month, unit, figure and outcome or reason
-- reads: referral_episodes, judged_screens, births, data_ends
-- needs: births, screens, serum, phototherapy, stays
-- kind: proportion
-- outcomes: in_time, late, missed, left, open
-- figures: missed_referral = missed / in_time + late + missed;
--   referral_in_time = in_time / in_time + late + missed;
--   referral_failed_attempts = with_failed_attempt / with_failed_attempt + without
-- left out: screens that meet a clause needing no line but could not call for a serum, by reason;
--   episodes whose stay ended without a disposition before the window closed
-- direction: missed: lower is better; in time: higher is better
-- chart: proportion by month
-- source: referral clauses NICE CG98; window, follow-up and episode are local definitions
with ends as (
  select min(through_s) as data_end_s
  from data_ends
  where table_name in ('births', 'screens', 'serum', 'phototherapy', 'stays')
),
episodes as (
  select 'missed_referral' as figure, month, unit, 'outcome' as kind, outcome as name
  from referral_episodes where outcome <> 'disposition_unknown'
  union all
  select 'referral_in_time', month, unit, 'outcome', outcome
  from referral_episodes where outcome <> 'disposition_unknown'
  union all
  select 'missed_referral', month, unit, 'left_out', outcome
  from referral_episodes where outcome = 'disposition_unknown'
  union all
  select 'referral_in_time', month, unit, 'left_out', outcome
  from referral_episodes where outcome = 'disposition_unknown'
  union all
  select
    'referral_failed_attempts', month, unit, 'outcome',
    case when failed_attempts > 0 then 'with_failed_attempt' else 'without' end
  from referral_episodes where outcome <> 'disposition_unknown'
),
screens as (
  select f.figure, s.month, s.unit, 'left_out' as kind, s.left_out as name
  from judged_screens s
  cross join ends e
  join births b on b.infant_id = s.infant_id and coalesce(b.born_s, b.born_day_s) <= e.data_end_s
  cross join (values ('missed_referral'), ('referral_in_time')) as f (figure)
  where s.left_out is not null and s.meets_plain_clause and s.measured_s <= e.data_end_s
),
counted as (
  select * from episodes
  union all
  select * from screens
)
select figure, month, unit, kind, name, count(*) as n
from counted
where month between $first_month and $last_month
group by figure, month, unit, kind, name
order by figure, month, unit, kind, name
