-- title: Screens outside limits
-- what: Screens taken where the meter should not be used, or not as the protocol asks.
-- grain: one row per screen: also names its flags, and those it is left out of
-- reads: judged_screens, known_until
-- needs: births, screens, phototherapy
-- kind: proportion
-- outcomes: flagged, not_flagged
-- figures: screens_outside_limits = flagged / flagged + not_flagged;
--   screens_outside_limits_gestation_below_limit = flagged / flagged + not_flagged from screens_outside_limits when gestation_below_limit;
--   screens_outside_limits_age_below_limit = flagged / flagged + not_flagged from screens_outside_limits when age_below_limit;
--   screens_outside_limits_outpatient_14_days = flagged / flagged + not_flagged from screens_outside_limits when outpatient_14_days;
--   screens_outside_limits_outpatient_not_sternum = flagged / flagged + not_flagged from screens_outside_limits when outpatient_not_sternum;
--   screens_outside_limits_few_readings = flagged / flagged + not_flagged from screens_outside_limits when few_readings;
--   screens_outside_limits_typed_identity = flagged / flagged + not_flagged from screens_outside_limits when typed_identity;
--   screens_outside_limits_after_phototherapy = flagged / flagged + not_flagged from screens_outside_limits when after_phototherapy
-- labels: screens_outside_limits = Screens outside any limit;
--   screens_outside_limits_gestation_below_limit = Gestation below the limit;
--   screens_outside_limits_age_below_limit = Age below the limit;
--   screens_outside_limits_outpatient_14_days = Outpatient from 14 days;
--   screens_outside_limits_outpatient_not_sternum = Outpatient, not on the sternum;
--   screens_outside_limits_few_readings = Too few readings averaged;
--   screens_outside_limits_typed_identity = Typed identity;
--   screens_outside_limits_after_phototherapy = During or soon after phototherapy
-- quantity: share
-- cases: screens
-- starts with: kept screens of the month
-- dropped: after_data_end then by data end
-- choices: A screen may have several flags; the first figure counts those known to have any, and
--   takes all screens. An empty cell is no safe answer: where it decides a flag, the screen is left
--   out of that flag's figure. Of the setting and the age, or the setting and the body site, the
--   filled one settles it when it rules the flag out: a screen known to be no outpatient's, one
--   known to be early enough, one on the right site.
-- left out: of a flag's figure alone: gestation_unknown and birth_time_unknown of the first two,
--   not_recorded of the others
-- clusters: babies
-- better: lower
-- direction: lower is better
-- chart: proportion by month
-- source: gestation and age NICE CG98; screens during or after phototherapy local definition;
--   outpatient screens, readings averaged and typed identity common practice
select
  'screens_outside_limits' as figure, s.month, s.unit, s.infant_id, s.screen_id as case_id, s.measured_s as at_s,
  'outcome' as kind,
  case when s.is_outside_limits then 'flagged' else 'not_flagged' end as name,
  nullif(
    concat_ws(
      ' ',
      case when s.gestation_below_limit then 'gestation_below_limit' when s.gestation_below_limit is null then 'gestation_below_limit:gestation_unknown' end,
      case when s.age_below_limit then 'age_below_limit' when s.age_below_limit is null then 'age_below_limit:birth_time_unknown' end,
      case when s.outpatient_14_days then 'outpatient_14_days' when s.outpatient_14_days is null then 'outpatient_14_days:not_recorded' end,
      case when s.outpatient_not_sternum then 'outpatient_not_sternum' when s.outpatient_not_sternum is null then 'outpatient_not_sternum:not_recorded' end,
      case when s.few_readings then 'few_readings' when s.few_readings is null then 'few_readings:not_recorded' end,
      case when s.typed_identity then 'typed_identity' when s.typed_identity is null then 'typed_identity:not_recorded' end,
      case when s.after_phototherapy then 'after_phototherapy' end
    ),
    ''
  ) as also
from judged_screens s
cross join known_until u
where s.known_from_s <= u.screens_s
