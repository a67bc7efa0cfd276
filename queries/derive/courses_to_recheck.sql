-- title: Starts and ends of courses, which may ask for a recheck
-- grain: one row per start and per end of a course of phototherapy
-- order: month, trigger_kind, infant_id, trigger_s
-- kept: while deriving
-- reads: courses, known_until, protocol_limits
-- needs: births, screens, serum, phototherapy, stays
-- looks back: not at all
-- looks ahead: not at all
-- choices: Data end is the earliest of the tables needed; a course that ends later has not ended. An
--   end that is assumed is left out as stop_unknown, whatever else holds, as nobody knows when the
--   lamps went off.
with known_courses as (
  select
    c.infant_id, c.course_no, c.start_s, c.unit, c.month, c.end_month, c.stop_assumed,
    case when c.end_s <= u.all_s then c.end_s end as end_s
  from courses c
  cross join known_until u
  where c.known_from_s <= u.all_s
)
select
  'course_start' as trigger_kind, 'courses' as trigger_table, c.infant_id,
  concat(c.infant_id, ' course ', c.course_no) as trigger_id, c.start_s as trigger_s, c.unit, l.version, c.course_no,
  cast(null as varchar) as left_out, c.month
from known_courses c
join protocol_limits l on c.start_s >= l.from_s and c.start_s < l.to_s
union all
select
  'course_end', 'courses', c.infant_id, concat(c.infant_id, ' course ', c.course_no), c.end_s, c.unit, l.version, c.course_no,
  case when c.stop_assumed then 'stop_unknown' end, c.end_month
from known_courses c
join protocol_limits l on c.end_s >= l.from_s and c.end_s < l.to_s
where c.end_s is not null
