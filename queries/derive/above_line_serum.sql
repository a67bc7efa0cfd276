-- title: First serum above the line of each baby, and whether phototherapy followed
-- grain: one row per baby with one, or with serum but no line
-- order: month, infant_id
-- reads: judged_serum, corrected_serum, courses, exits, known_until, protocol_versions, protocol_limits
-- needs: births, serum, phototherapy, stays
-- looks back: to the start of a course the serum lies in
-- looks ahead: to the first course after it, and the protocol's follow-up after its result
-- choices: Data end is the earliest of the tables needed; what happened later does not exist yet. Candidates
--   are valid serum up to the protocol's age that is not strictly inside a course, by time, then id. The clock
--   starts with the earliest result of a final or corrected version whose own value was above the line, else
--   at collection; phototherapy is the first course that starts at or after collection, before the result
--   counts as at once. A baby left when it died or was transferred out for good in [collection, result + the
--   time allowed), as before the result nothing could be done; a stay that ended there without a disposition
--   leaves it out. A baby none of whose candidates has a line is left out.
with valid as (
  select
    s.specimen_id, s.infant_id, s.unit, s.collected_s, s.status, s.resulted_s, s.compare_micro, s.age_s, s.gestation_days,
    s.line_micro, s.is_above_line, s.version, s.month, l.treatment_in_time_s, l.treatment_follow_up_s, u.treatment_s as data_end_s
  from judged_serum s
  cross join known_until u
  join protocol_limits l on l.version = s.version
  where s.is_valid and s.known_from_s <= u.treatment_s and coalesce(s.age_s <= l.treatment_age_at_most_s, true)
),
known_courses as (
  select c.infant_id, c.course_no, c.start_s, case when c.end_s <= u.treatment_s then c.end_s end as end_s
  from courses c
  cross join known_until u
  where c.start_s <= u.treatment_s
),
inside as (
  select distinct s.specimen_id
  from valid s
  join known_courses c
    on c.infant_id = s.infant_id and c.start_s < s.collected_s and (c.end_s is null or s.collected_s < c.end_s)
),
candidates as (
  select
    s.*,
    count(s.line_micro) over (partition by s.infant_id) as with_line,
    row_number() over (
      partition by s.infant_id order by coalesce(s.is_above_line, false) desc, s.collected_s, s.specimen_id
    ) as place
  from valid s
  left anti join inside i on i.specimen_id = s.specimen_id
),
first_ones as (
  select *
  from candidates
  where place = 1 and (is_above_line or with_line = 0)
),
versions as (
  select specimen_id, status, resulted_s, compare_micro from corrected_serum
  union all
  select f.specimen_id, f.status, f.resulted_s, f.compare_micro
  from first_ones f
  left anti join corrected_serum c on c.specimen_id = f.specimen_id
),
results as (
  select f.specimen_id, min(v.resulted_s) as result_s
  from first_ones f
  join protocol_versions p on p.version = f.version
  join versions v
    on v.specimen_id = f.specimen_id and v.status in ('final', 'corrected')
    and case when p.above_is_strict then v.compare_micro > f.line_micro else v.compare_micro >= f.line_micro end
  group by f.specimen_id
),
started as (
  select f.infant_id, min(c.start_s) as started_s
  from first_ones f
  join known_courses c on c.infant_id = f.infant_id and c.start_s >= f.collected_s
  group by f.infant_id
),
timed as (
  select
    f.*, coalesce(r.result_s, f.collected_s) as result_s, s.started_s,
    s.started_s - coalesce(r.result_s, f.collected_s) as started_after_s
  from first_ones f
  left join results r on r.specimen_id = f.specimen_id
  left join started s on s.infant_id = f.infant_id
),
left_after as (
  select t.infant_id, bool_or(e.how in ('died', 'transfer')) as has_left
  from timed t
  join exits e
    on e.infant_id = t.infant_id and e.known_s <= t.data_end_s
    and e.at_s >= t.collected_s and e.at_s < t.result_s + t.treatment_in_time_s
  group by t.infant_id
),
judged as (
  select
    t.*,
    case
      when t.is_above_line then null
      when t.age_s is null then 'birth_time_unknown'
      when t.gestation_days is null then 'gestation_unknown'
      else 'no_line'
    end as without_line,
    case
      when t.started_after_s <= t.treatment_in_time_s then 'in_time'
      when t.started_after_s <= t.treatment_follow_up_s then 'late'
      when x.has_left then 'left'
      when not x.has_left then 'disposition_unknown'
      when t.data_end_s < t.result_s + t.treatment_follow_up_s then 'open'
      else 'none'
    end as ended
  from timed t
  left join left_after x on x.infant_id = t.infant_id
)
select
  infant_id, specimen_id, unit, collected_s, age_s, version, line_micro, result_s, started_s,
  case when without_line is not null then without_line when ended = 'disposition_unknown' then ended end as left_out,
  case when without_line is null and ended <> 'disposition_unknown' then ended end as outcome,
  started_s is not null as is_treated,
  month
from judged
