-- title: Screens outside limits
-- what: Screens taken where the meter should not be used, or not as the protocol asks.
-- grain: one row per figure and screen
-- reads: judged_screens, births, data_ends
-- needs: births, screens
-- kind: proportion
-- outcomes: flagged, not_flagged
-- figures: screens_outside_limits = flagged / flagged + not_flagged;
--   screens_outside_limits_gestation_below_limit = flagged / flagged + not_flagged;
--   screens_outside_limits_age_below_limit = flagged / flagged + not_flagged;
--   screens_outside_limits_outpatient_14_days = flagged / flagged + not_flagged;
--   screens_outside_limits_outpatient_not_sternum = flagged / flagged + not_flagged;
--   screens_outside_limits_few_readings = flagged / flagged + not_flagged;
--   screens_outside_limits_typed_identity = flagged / flagged + not_flagged
-- starts with: kept screens of the month
-- dropped: after_data_end then by data end
-- choices: A screen may have several flags; the first figure counts those with any. What is not
--   known raises no flag.
-- better: lower
-- direction: lower is better
-- chart: proportion by month
-- source: gestation and age NICE CG98; outpatient screens, readings averaged and typed identity
--   common practice
with ends as (
  select min(through_s) as data_end_s
  from data_ends
  where table_name in ('births', 'screens')
),
figures as (
  select * from (values
    ('screens_outside_limits'), ('screens_outside_limits_gestation_below_limit'),
    ('screens_outside_limits_age_below_limit'), ('screens_outside_limits_outpatient_14_days'),
    ('screens_outside_limits_outpatient_not_sternum'), ('screens_outside_limits_few_readings'),
    ('screens_outside_limits_typed_identity')
  ) as f (figure)
),
flagged as (
  select
    f.figure, s.month, s.unit, s.infant_id, s.screen_id, s.measured_s,
    b.infant_id is not null and s.measured_s <= e.data_end_s as is_known,
    case f.figure
      when 'screens_outside_limits' then s.is_outside_limits
      when 'screens_outside_limits_gestation_below_limit' then s.gestation_below_limit
      when 'screens_outside_limits_age_below_limit' then s.age_below_limit
      when 'screens_outside_limits_outpatient_14_days' then s.outpatient_14_days
      when 'screens_outside_limits_outpatient_not_sternum' then s.outpatient_not_sternum
      when 'screens_outside_limits_few_readings' then s.few_readings
      else s.typed_identity
    end as is_flagged
  from judged_screens s
  cross join ends e
  cross join figures f
  left join births b on b.infant_id = s.infant_id and coalesce(b.born_s, b.born_day_s) <= e.data_end_s
  where s.month between $first_month and $last_month
)
select
  figure, month, unit, infant_id, screen_id as case_id, measured_s as at_s,
  case when is_known then 'outcome' else 'dropped' end as kind,
  case when not is_known then 'after_data_end' when is_flagged then 'flagged' else 'not_flagged' end as name
from flagged
