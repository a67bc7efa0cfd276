-- title: Time to serum
-- what: How long after the screen that called for it the serum was collected, and resulted.
-- grain: one row per referral episode and clock (to_serum, to_result)
-- reads: referral_episodes
-- needs: births, screens, serum, phototherapy, stays
-- kind: time
-- outcomes: serum, competing, cut, data_end
-- figures: time_to_serum_* = serum / serum + competing + cut + data_end from to_serum;
--   time_to_serum_median = serum / serum + competing + cut + data_end from to_serum;
--   time_to_result_median = serum / serum + competing + cut + data_end from to_result
-- labels: time_to_serum_* = Serum drawn by {number} hours; time_to_serum_median = Median time to serum;
--   time_to_result_median = Median time to result
-- quantity: share by hour; time_to_serum_median hours; time_to_result_median hours
-- cases: referrals
-- each: hour
-- starts with: referrals of the month
-- left out: the stay ended without a disposition before anything else happened; no answer, but a recent
--   serum below the line
-- better: higher; time_to_serum_median lower; time_to_result_median lower
-- direction: higher shares and a shorter median are better
-- chart: none; time_to_serum_median median by month; time_to_result_median median by month
-- source: Aalen-Johansen, with going home or dying without serum as the competing event; one minus
--   Kaplan-Meier would count those as still to be drawn and overstate the share
with clocks as (
  select 'to_serum' as figure, month, unit, infant_id, index_screen_id, index_s, serum_ended_by as ended_by, serum_time_s as time_s
  from referral_episodes
  where kind = 'due'
  union all
  select 'to_result', month, unit, infant_id, index_screen_id, index_s, result_ended_by, result_time_s
  from referral_episodes
  where kind = 'due'
)
select
  figure, month, unit, infant_id, index_screen_id as case_id, index_s as at_s,
  case when ended_by in ('disposition_unknown', 'recent_serum') then 'left_out' else 'outcome' end as kind,
  ended_by as name, time_s
from clocks
