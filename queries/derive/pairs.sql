-- title: Pairs of a screen and a serum taken close together
-- grain: one row per pair; each screen and each serum is in one at most
-- order: month, infant_id, measured_s, screen_id
-- reads: judged_screens, judged_serum, known_until, protocol_limits
-- needs: births, screens, serum, phototherapy, stays
-- looks back: by the protocol's time between the two
-- looks ahead: the same
-- choices: Data end is the earliest of the tables needed; what happened later does not exist yet.
--   Screens and valid serum without a bound, both outside phototherapy and the protocol's hours
--   after it. A pair is kept when each is the other's nearest; ties go to the earlier, then to the
--   smaller id. The difference is screen minus serum. outcome is of pairs whose screen could call
--   for a serum: due when it did, else above_line when the serum was above the line although the
--   screen had called for none. Unit and month are those of the screen.
with near as (
  select
    s.infant_id, s.screen_id, v.specimen_id, s.measured_s, v.collected_s, s.unit, s.month,
    s.value_micro - v.value_micro as difference_micro, s.meter_id,
    s.left_out as screen_left_out, s.is_due, v.is_above_line,
    row_number() over (
      partition by s.screen_id order by abs(v.collected_s - s.measured_s), v.collected_s, v.specimen_id
    ) as place_of_serum,
    row_number() over (
      partition by v.specimen_id order by abs(v.collected_s - s.measured_s), s.measured_s, s.screen_id
    ) as place_of_screen
  from judged_screens s
  cross join known_until u
  join protocol_limits l on l.version = s.version
  join judged_serum v
    on v.infant_id = s.infant_id and v.is_valid and v.bound is null and not v.in_or_after_phototherapy
    and v.collected_s <= u.all_s
    and v.collected_s >= s.measured_s - l.pair_within_s and v.collected_s <= s.measured_s + l.pair_within_s
  where s.bound is null and not s.in_or_after_phototherapy and s.known_from_s <= u.all_s
),
kept as (
  select
    *,
    row_number() over (partition by infant_id order by measured_s, screen_id) as place
  from near
  where place_of_serum = 1 and place_of_screen = 1
)
select
  infant_id, screen_id, specimen_id, measured_s, collected_s, difference_micro, meter_id,
  place = 1 as is_first_of_baby,
  case
    when screen_left_out is not null then screen_left_out
    when not is_due and is_above_line is null then 'no_line'
  end as left_out,
  case
    when screen_left_out is not null then null
    when is_due then 'due'
    when is_above_line then 'above_line'
    when not is_above_line then 'not_above_line'
  end as outcome,
  unit, month
from kept
