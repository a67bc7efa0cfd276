-- title: Tests that may ask for a recheck
-- grain: one row per kind of trigger and serum or screen
-- order: month, trigger_kind, infant_id, trigger_s, trigger_table, trigger_id
-- kept: while deriving
-- reads: judged_serum, judged_screens, courses, known_until, protocol_limits
-- needs: births, screens, serum, phototherapy, stays
-- looks back: 1 h before a screen for a serum beside it; to the course a serum lies in
-- looks ahead: 1 h after a screen
-- choices: Data end is the earliest of the tables needed; what happened later does not exist
--   yet, nor does a baby born later.
--   near_line: a valid serum, or a screen that could have called for a serum, did not, and has no
--   valid serum within the pairing time either side; no bound; outside phototherapy and the
--   protocol's hours after it.
--   serum_above_line: a valid serum above its line, or without one.
--   serum_in_course: a valid serum while a course runs.
with serum as (
  select s.*
  from judged_serum s
  cross join known_until u
  where s.is_valid and s.known_from_s <= u.all_s
),
screens as (
  select s.*
  from judged_screens s
  cross join known_until u
  where s.known_from_s <= u.all_s
),
paired as (
  select distinct s.screen_id
  from screens s
  join protocol_limits l on l.version = s.version
  join serum v
    on v.infant_id = s.infant_id
    and v.collected_s >= s.measured_s - l.paired_before_s and v.collected_s <= s.measured_s + l.paired_before_s
)
select
  'near_line' as trigger_kind, 'serum' as trigger_table, infant_id, specimen_id as trigger_id, collected_s as trigger_s,
  unit, version, age_s, gestation_days, gap_micro, line_micro, cast(null as bigint) as course_no,
  cast(null as bigint) as into_course_s, month
from serum
where bound is null and not in_or_after_phototherapy
union all
select
  'near_line', 'screens', s.infant_id, s.screen_id, s.measured_s, s.unit,
  s.version, s.age_s, s.gestation_days, s.gap_micro, s.line_micro, null, null, s.month
from screens s
left anti join paired p on p.screen_id = s.screen_id
where s.left_out is null and not s.is_due and s.bound is null
union all
select
  'serum_above_line', 'serum', infant_id, specimen_id, collected_s, unit,
  version, age_s, gestation_days, null, line_micro, null, null, month
from serum
where is_above_line or line_micro is null
union all
select
  'serum_in_course', 'serum', s.infant_id, s.specimen_id, s.collected_s, s.unit,
  s.version, s.age_s, s.gestation_days, null, null, c.course_no, s.collected_s - c.start_s, s.month
from serum s
join courses c on c.infant_id = s.infant_id and c.course_no = s.in_course_no
cross join known_until u
where c.known_from_s <= u.all_s
