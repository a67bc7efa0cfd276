-- title: Treatment below the line
-- what: Courses of phototherapy started in the month, and whether a serum shortly before was above
--   the line. Balances time to treatment: treating more babies than need it separates them from
--   their mothers.
-- grain: one row per course
-- reads: courses, judged_serum, known_births, line_risks, known_until, protocol_versions, protocol_limits,
--   protocol_lines
-- needs: births, serum, phototherapy, stays
-- kind: proportion
-- outcomes: below, above
-- figures: treatment_below_line = below / below + above
-- labels: treatment_below_line = Treatment below the line
-- quantity: share
-- cases: courses
-- starts with: courses of the month
-- dropped: after_data_end then by data end
-- choices: above: a valid serum collected within the protocol's hours before the start, or at it,
--   was above the line at its own age. Without one the course counts as below, also when a screen
--   was high. Unit is that of the first episode.
-- left out: no birth time, no gestation, no line for the gestation, or for risk that is not recorded
-- better: lower
-- direction: lower is better, within reason
-- chart: proportion by month
-- source: local definition; line NICE CG98 or the site's
with lined as (
  select distinct standard, gestation_weeks, risk from protocol_lines
),
started as (
  select
    c.infant_id, c.course_no, c.start_s, c.unit, c.month, b.born_s, b.gestation_days, l.below_line_within_s,
    n.standard is not null as has_line
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
above as (
  select distinct c.infant_id, c.course_no
  from started c
  join judged_serum s
    on s.infant_id = c.infant_id and s.is_valid and s.is_above_line
    and s.collected_s >= c.start_s - c.below_line_within_s and s.collected_s <= c.start_s
),
judged as (
  select
    c.*,
    case
      when c.born_s is null then 'birth_time_unknown'
      when c.gestation_days is null then 'gestation_unknown'
      when not c.has_line then 'no_line'
      when a.infant_id is not null then 'above'
      else 'below'
    end as name
  from started c
  left join above a on a.infant_id = c.infant_id and a.course_no = c.course_no
)
select
  'treatment_below_line' as figure, month, unit, infant_id, concat(infant_id, ' course ', course_no) as case_id,
  start_s as at_s,
  case when name in ('above', 'below') then 'outcome' else 'left_out' end as kind,
  name
from judged
