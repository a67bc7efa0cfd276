-- title: Serum above the line without phototherapy, and whether it followed
-- grain: one row per index: a serum above the line that opens the wait, and per one left out
-- order: month, infant_id, collected_s, specimen_id
-- reads: above_line_indices, corrected_serum, judged_serum, courses, exits, known_until, protocol_versions, protocol_limits
-- needs: births, serum, phototherapy, stays
-- looks back: not at all
-- looks ahead: to the first course after it, and the protocol's follow-up after its result
-- choices: Data end is the earliest of the tables needed; what happened later does not exist yet. The
--   clock starts with the earliest result of a final or corrected version whose own value was above the
--   line, else at collection; phototherapy is the first course that starts at or after collection, before
--   the result counts as at once. Open comes first: the follow-up has not passed at data end. A baby left
--   when it died or was transferred out for good in [collection, result + the time allowed), as before the
--   result nothing could be done, and was not admitted again by the end of the follow-up; a stay that ended
--   there without a disposition leaves it out. closed_by_course_no is the course that ended the wait, empty
--   when the serum fell first.
with indices as (
  select i.*, l.treatment_in_time_s, l.treatment_follow_up_s, u.treatment_s as data_end_s
  from above_line_indices i
  join protocol_limits l on l.version = i.version
  cross join known_until u
),
versions as (
  select specimen_id, status, resulted_s, compare_micro from corrected_serum
  union all
  select s.specimen_id, s.status, s.resulted_s, s.compare_micro
  from indices i
  join judged_serum s on s.specimen_id = i.specimen_id
  left anti join corrected_serum c on c.specimen_id = s.specimen_id
),
results as (
  select i.specimen_id, min(v.resulted_s) as result_s
  from indices i
  join protocol_versions p on p.version = i.version
  join versions v
    on v.specimen_id = i.specimen_id and v.status in ('final', 'corrected')
    and case when p.above_is_strict then v.compare_micro > i.line_micro else v.compare_micro >= i.line_micro end
  group by i.specimen_id
),
started as (
  select i.specimen_id, min(c.start_s) as started_s
  from indices i
  join courses c
    on c.infant_id = i.infant_id and c.known_from_s <= i.data_end_s
    and (c.start_s >= i.collected_s or (i.is_beside_lamps and c.course_no = i.course_no))
  group by i.specimen_id
),
timed as (
  select
    i.*, coalesce(r.result_s, i.collected_s) as result_s, s.started_s,
    s.started_s - coalesce(r.result_s, i.collected_s) as started_after_s
  from indices i
  left join results r on r.specimen_id = i.specimen_id
  left join started s on s.specimen_id = i.specimen_id
),
left_after as (
  select t.specimen_id, bool_or(e.how in ('died', 'transfer')) as has_left
  from timed t
  join exits e
    on e.infant_id = t.infant_id and e.known_s <= t.data_end_s
    and e.at_s >= t.collected_s and e.at_s < t.result_s + t.treatment_in_time_s
    and coalesce(e.back_s > least(t.result_s + t.treatment_follow_up_s, t.data_end_s), true)
  group by t.specimen_id
),
judged as (
  select
    t.*,
    case
      when t.left_out is not null then null
      when t.data_end_s < t.result_s + t.treatment_follow_up_s then 'open'
      when t.started_after_s <= t.treatment_in_time_s then 'in_time'
      when t.started_after_s <= t.treatment_follow_up_s then 'late'
      when x.has_left then 'left'
      when not x.has_left then 'disposition_unknown'
      else 'none'
    end as ended
  from timed t
  left join left_after x on x.specimen_id = t.specimen_id
)
select
  infant_id, specimen_id, unit, collected_s, age_s, version, line_micro, result_s, started_s,
  case when ended = 'disposition_unknown' then ended else left_out end as left_out,
  case when ended <> 'disposition_unknown' then ended end as outcome,
  started_s is not null as is_treated, is_beside_lamps,
  case when not is_beside_lamps then course_no end as closed_by_course_no,
  month
from judged
