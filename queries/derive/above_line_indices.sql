-- title: Serum above the line that opens the wait for phototherapy
-- grain: one row per such serum, and per serum whose baby has no line or whose course has no known end
-- order: month, infant_id, collected_s, specimen_id
-- kept: while deriving
-- reads: judged_serum, courses, known_until, protocol_limits
-- needs: births, serum, phototherapy, stays
-- looks back: to a baby's first serum
-- looks ahead: to the first course after it
-- choices: An index is a valid serum above the line, up to the protocol's age, not strictly inside a
--   course, while no earlier index of the baby is open. A course start closes an open index, and so does a
--   later valid serum that is not above the line. Things of one second go in this order: serum above the
--   line, course start, serum not above it. Blood may be drawn beside the lamps: the first serum above the
--   line inside a course, up to the protocol's hours after its start, is an index too when none was open at
--   the start; its delay is 0, and it is closed at once. Left out: a serum above the line later than that in
--   a course whose stop is assumed; of a baby without a line, the first serum of the month that could have
--   been an index.
with known_courses as (
  select
    c.infant_id, c.course_no, c.start_s, c.stop_assumed, case when c.end_s <= u.treatment_s then c.end_s end as end_s
  from courses c
  cross join known_until u
  where c.known_from_s <= u.treatment_s
),
serum as (
  select
    s.specimen_id, s.infant_id, s.unit, s.collected_s, s.age_s, s.gestation_days, s.line_micro, s.is_above_line, s.version,
    s.month, l.beside_lamps_s as early_s, c.course_no, c.start_s, c.end_s is not null and c.stop_assumed as stop_assumed
  from judged_serum s
  cross join known_until u
  join protocol_limits l on l.version = s.version
  left join known_courses c on c.infant_id = s.infant_id and c.course_no = s.in_course_no and c.start_s < s.collected_s
  where s.is_valid and s.known_from_s <= u.treatment_s and coalesce(s.age_s <= l.treatment_age_at_most_s, true)
),
events as (
  select infant_id, collected_s as at_s, case when is_above_line then 1 else 3 end as kind, specimen_id, null as course_no
  from serum
  where course_no is null and is_above_line is not null
  union all
  select infant_id, start_s, 2, null, course_no
  from known_courses
),
spans as (
  select
    *,
    sum(case when kind > 1 then 1 else 0 end) over (
      partition by infant_id order by at_s, kind, specimen_id, course_no
      rows between unbounded preceding and current row
    ) as closings
  from events
),
opened as (
  select
    *,
    row_number() over (partition by infant_id, closings order by at_s, specimen_id) as place
  from spans
  where kind = 1
),
indices as (
  select o.infant_id, o.specimen_id, c.course_no
  from opened o
  left join spans c on c.infant_id = o.infant_id and c.closings = o.closings + 1 and c.kind = 2
  where o.place = 1
),
in_courses as (
  select
    s.infant_id, s.specimen_id, s.course_no, s.collected_s <= s.start_s + s.early_s as is_early, s.stop_assumed,
    i.infant_id is null as opens,
    row_number() over (partition by s.infant_id, s.course_no order by s.collected_s, s.specimen_id) as place
  from serum s
  left join indices i on i.infant_id = s.infant_id and i.course_no = s.course_no
  where s.is_above_line and s.course_no is not null
),
without_line as (
  select
    infant_id, specimen_id,
    row_number() over (partition by infant_id, month order by collected_s, specimen_id) as place
  from serum
  where line_micro is null and course_no is null
),
kept as (
  select infant_id, specimen_id, course_no, false as is_beside_lamps, null as left_out
  from indices
  union all
  select infant_id, specimen_id, course_no, true, null
  from in_courses
  where is_early and opens and place = 1
  union all
  select infant_id, specimen_id, null, false, 'stop_unknown'
  from in_courses
  where not is_early and stop_assumed
  union all
  select infant_id, specimen_id, null, false, 'no_line'
  from without_line
  where place = 1
)
select
  k.infant_id, k.specimen_id, s.unit, s.collected_s, s.age_s, s.line_micro, s.version, k.course_no, k.is_beside_lamps,
  case
    when k.left_out is null or k.left_out = 'stop_unknown' then k.left_out
    when s.age_s is null then 'birth_time_unknown'
    when s.gestation_days is null then 'gestation_unknown'
    else k.left_out
  end as left_out,
  s.month
from kept k
join serum s on s.specimen_id = k.specimen_id
