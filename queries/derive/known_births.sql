-- title: Births, each with the moment it is dated by
-- grain: one row per live birth
-- order: month, infant_id
-- reads: births
-- looks back: not at all
-- looks ahead: not at all
-- choices: A birth known by day only is dated by the start of that day. A birth without a unit is of
--   the unit unknown.
select
  infant_id, coalesce(unit, 'unknown') as unit, born_s, coalesce(born_s, born_day_s) as birth_s, gestation_days,
  gestation_weeks, local_month as month
from births
