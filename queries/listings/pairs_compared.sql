-- title: Pairs of a screen and a serum, with what they are compared by
-- grain: one row per pair
-- reads: pairs, judged_screens, judged_serum, births, screens
-- choices: Age is that of the screen. What is not known is a group of its own, unknown. A pair whose
--   screen could not call for a serum, or whose serum has no line, is in no table of the rule. Of one
--   unit, or of all where $unit is empty.
select
  p.month, p.infant_id, p.meter_id as meter,
  coalesce(nullif(r.body_site, ''), 'unknown') as body_site,
  case
    when b.gestation_weeks is null then 'unknown'
    when b.gestation_weeks < 35 then 'under 35'
    when b.gestation_weeks >= 40 then '40 or more'
    else cast(b.gestation_weeks as varchar)
  end as gestation,
  coalesce(nullif(b.skin_tone, ''), 'unknown') as skin_tone,
  case
    when s.age_s is null then 'unknown'
    when s.age_s / 86400 >= 4 then 'day 5 or later'
    else concat('day ', cast(s.age_s / 86400 + 1 as varchar))
  end as age,
  s.value_micro as screen_micro, s.line_micro, v.value_micro as serum_micro,
  abs(p.collected_s - p.measured_s) as apart_s,
  p.is_first_of_baby,
  case when p.left_out is null then p.outcome = 'due' end as called_for_serum,
  case when p.left_out is null then v.is_above_line end as serum_above_line
from pairs p
join judged_screens s on s.screen_id = p.screen_id and s.month = p.month
join judged_serum v on v.specimen_id = p.specimen_id
join screens r on r.screen_id = p.screen_id
left join births b on b.infant_id = p.infant_id
where p.month between $first_month and $last_month and ($unit = '' or p.unit = $unit)
order by p.measured_s, p.screen_id
