-- title: Time to serum
-- what: How long after the screen that called for it the serum was collected, and resulted.
-- grain: one row per referral episode and clock (serum, result), in order of time
-- reads: referral_episodes
-- needs: births, screens, serum, phototherapy, stays
-- kind: time
-- left out: the stay ended without a disposition before anything else happened
-- direction: higher shares and a shorter median are better
-- chart: share drawn by hour
-- source: Aalen-Johansen, with going home or dying without serum as the competing event; one minus
--   Kaplan-Meier would count those as still to be drawn and overstate the share
with clocks as (
  select month, unit, 'serum' as clock, serum_time_s as time_s, serum_ended_by as ended_by, index_screen_id
  from referral_episodes
  union all
  select month, unit, 'result', result_time_s, result_ended_by, index_screen_id
  from referral_episodes
)
select month, unit, clock, time_s, ended_by
from clocks
where month between $first_month and $last_month
order by month, clock, time_s, index_screen_id
