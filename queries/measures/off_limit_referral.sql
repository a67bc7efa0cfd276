-- title: Off-limit referral
-- what: Screens taken where the meter is not to be used, up to 24 hours of age, under 35 weeks or soon after
--   phototherapy, that were at or above the line all the same: they call for a serum all the more.
-- grain: one row per screen: of a referral the screen that opened it
-- reads: referral_episodes, judged_screens, known_until
-- needs: births, screens, serum, phototherapy, stays
-- kind: proportion
-- outcomes: in_time, late, missed, left, open
-- figures: off_limit_referral_missed = missed / in_time + late + missed from off_limit_referral;
--   off_limit_referral_in_time = in_time / in_time + late + missed from off_limit_referral
-- labels: off_limit_referral_missed = Missed off-limit referral;
--   off_limit_referral_in_time = Serum in time after an off-limit screen
-- quantity: share
-- cases: off-limit referrals
-- choices: Ages and gestations are those of the protocol. Episodes, answers and outcomes are those of
--   referrals; the window is the protocol's for off-limit screens.
-- left out: screens inside a course; screens without birth time, gestation or line that meet a clause
--   needing no line; episodes whose stay ended without a disposition before the window closed; episodes
--   without an answer of a baby with a recent serum below the line
-- clusters: babies
-- better: lower; off_limit_referral_in_time higher
-- direction: missed: lower is better; in time: higher is better
-- chart: none
-- source: NICE CG98: serum within 2 h in the first 24 h, and serum instead of a meter under 35 weeks; the
--   hours after the first day, episode and follow-up are local definitions
with cases as (
  select
    month, unit, infant_id, index_screen_id as case_id, index_s as at_s, outcome as name,
    case when outcome in ('disposition_unknown', 'recent_serum') then 'left_out' else 'outcome' end as kind
  from referral_episodes
  where kind = 'off_limit'
  union all
  select
    s.month, s.unit, s.infant_id, s.screen_id, s.measured_s, case when s.is_off_limit then 'phototherapy' else s.left_out end,
    'left_out'
  from judged_screens s
  cross join known_until u
  where s.known_from_s <= u.all_s
    and ((s.is_off_limit and s.in_course)
      or (s.left_out in ('birth_time_unknown', 'gestation_unknown', 'no_line') and s.meets_plain_clause))
)
select 'off_limit_referral' as figure, month, unit, infant_id, case_id, at_s, kind, name
from cases
