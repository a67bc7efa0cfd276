-- title: Treatment below the line
-- what: Courses of phototherapy started in the month, and whether a serum shortly before, or just after,
--   was above the line. Balances time to treatment: treating more babies than need it separates them
--   from their mothers. Not a fault by itself.
-- grain: one row per course
-- reads: courses, above_line_serum, judged_serum, known_births, line_risks, known_until, protocol_versions, protocol_limits,
--   protocol_lines
-- needs: births, serum, phototherapy, stays
-- kind: proportion
-- outcomes: above, near_below, below, no_serum, open
-- figures: treatment_below_line = near_below + below + no_serum / above + near_below + below + no_serum
-- labels: treatment_below_line = Treatment below the line
-- quantity: share
-- cases: courses
-- starts with: courses of the month
-- dropped: after_data_end then by data end
-- choices: above: the course ended the wait after a serum above the line, or a valid serum collected
--   from the protocol's hours before the start to its hours after it was above the line at its own age.
--   Else by the highest such serum, by value: near_below when it was below the line by no more than
--   the protocol's margin. A bound compares as just more, or just less. Unit is that of the first episode.
-- left out: no birth time, no gestation, no line, also for risk that is not recorded: the first such course of a baby in the month
-- clusters: babies
-- better: lower
-- direction: lower is better, within reason
-- chart: proportion by month
-- source: local definition, AAP 2022 allows treatment below the line; line NICE CG98 or the site's
with lined as (
  select distinct standard, gestation_weeks, risk from protocol_lines
),
started as (
  select
    c.infant_id, c.course_no, c.start_s, c.unit, c.month, l.below_line_within_s, l.below_line_after_s, l.near_below_micro,
    u.treatment_s as data_end_s,
    case
      when b.born_s is null then 'birth_time_unknown'
      when b.gestation_days is null then 'gestation_unknown'
      when n.standard is null then 'no_line'
    end as left_out
  from courses c
  cross join known_until u
  join known_births b on b.infant_id = c.infant_id
  join protocol_versions v on c.start_s >= v.from_s and c.start_s < v.to_s
  join protocol_limits l on l.version = v.version
  join line_risks r on r.infant_id = c.infant_id and r.version = v.version
  left join lined n
    on n.standard = v.standard and n.gestation_weeks = b.gestation_weeks and n.risk in ('any', r.risk)
  where c.known_from_s <= u.treatment_s
),
drawn as (
  select
    c.infant_id, c.course_no, s.is_above_line, s.line_micro - s.compare_micro <= c.near_below_micro as is_near,
    row_number() over (
      partition by c.infant_id, c.course_no
      order by coalesce(s.is_above_line, false) desc, s.compare_micro desc, s.collected_s, s.specimen_id
    ) as place
  from started c
  join judged_serum s
    on s.infant_id = c.infant_id and s.is_valid and s.collected_s <= c.data_end_s
    and s.collected_s >= c.start_s - c.below_line_within_s and s.collected_s <= c.start_s + c.below_line_after_s
),
judged as (
  select
    c.*,
    row_number() over (partition by c.infant_id, c.month order by c.left_out is null, c.start_s) as place,
    case
      when c.data_end_s < c.start_s + c.below_line_after_s then 'open'
      when c.left_out is not null then null
      when a.infant_id is not null or d.is_above_line then 'above'
      when d.is_near then 'near_below'
      when d.infant_id is not null then 'below'
      else 'no_serum'
    end as outcome
  from started c
  left join drawn d on d.infant_id = c.infant_id and d.course_no = c.course_no and d.place = 1
  left join above_line_serum a on a.infant_id = c.infant_id and a.closed_by_course_no = c.course_no
)
select
  'treatment_below_line' as figure, month, unit, infant_id, concat(infant_id, ' course ', course_no) as case_id,
  start_s as at_s,
  case when outcome is null then 'left_out' else 'outcome' end as kind,
  coalesce(outcome, left_out) as name
from judged
where outcome is not null or place = 1
