-- title: Cases of a month that rest on risk factors that were not recorded
-- grain: one row per kind of case and way in which the protocol judges them
-- reads: aged_tests, judged_screens, judged_serum, recheck_triggers, protocol_limits
-- choices: Of tests, the screens and valid serum whose line depends on risk; of rechecks, those whose
--   rule asks for a risk, unless feeding puts the baby at risk or another reason leaves them out. Of
--   one unit, or of all where $unit is empty.
with resting as (
  select 'tests' as what, l.unknown_line_risk as judged_as, coalesce(s.unit, v.unit) as unit, a.infant_id
  from aged_tests a
  join protocol_limits l on l.version = a.version
  left join judged_screens s on a.test_table = 'screens' and s.screen_id = a.test_id
  left join judged_serum v on a.test_table = 'serum' and v.specimen_id = a.test_id and v.is_valid
  where a.month = $month and a.rests_on_unknown_risk and (s.screen_id is not null or v.specimen_id is not null)
  union all
  select 'rechecks', l.unknown_recheck_risk, t.unit, t.infant_id
  from recheck_triggers t
  join protocol_limits l on l.version = t.version
  where t.month = $month and t.rests_on_unknown_risk and (t.left_out is null or t.left_out = 'not_recorded')
)
select what, judged_as, count(*) as cases, count(distinct infant_id) as babies
from resting
where $unit = '' or unit = $unit
group by what, judged_as
order by what, judged_as
