-- title: Recheck triggers: what made each obligation
-- grain: one row per trigger and recheck rule it falls under
-- order: month, rule, infant_id, trigger_s, trigger_table, trigger_id
-- reads: judged_serum, judged_screens, courses, stay_chains, births, known_until, protocol_limits, protocol_recheck,
--   protocol_codes
-- needs: births, screens, serum, phototherapy, stays
-- looks back: 1 h before a screen for a serum beside it; to the course a serum lies in; from going
--   home to the last test before it
-- looks ahead: 1 h after a screen
-- choices: Data end is the earliest of the tables needed; what happened later does not exist
--   yet, nor does a baby born later.
--   near_line: a valid serum, or a screen that could have called for a serum, did not, and has no
--   valid serum within the pairing time either side; no bound; outside phototherapy and the
--   protocol's hours after it. A serum whose baby has no birth time, gestation or line is left out
--   where what is known of it does not rule it out as a trigger.
--   going_home: the last screen or valid serum by the end of the birth stay (of one moment the
--   serum, then the larger id), when the baby went home and no course had started by then; a last
--   test with a bound is no trigger, as its gap is unknown, and no earlier one takes its place.
--   Gaps are rounded to the protocol's step, half away from zero, before bands are compared.
--   Where rows of one rule cannot be told apart, as what they ask for is unknown, one is made. Unit and month are those of the
--   trigger: the test, or the course and its start or end.
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
known_courses as (
  select
    c.infant_id, c.course_no, c.start_s, c.unit, c.month, c.end_month, c.stop_assumed,
    case when c.end_s <= u.all_s then c.end_s end as end_s
  from courses c
  cross join known_until u
  where c.known_from_s <= u.all_s
),
paired as (
  select distinct s.screen_id
  from screens s
  join protocol_limits l on l.version = s.version
  join serum v
    on v.infant_id = s.infant_id
    and v.collected_s >= s.measured_s - l.paired_before_s and v.collected_s <= s.measured_s + l.paired_before_s
),
of_going_home as (
  select distinct version from protocol_recheck where "trigger" = 'going_home'
),
went_home as (
  select c.infant_id, c.end_s
  from stay_chains c
  cross join known_until u
  where c.is_birth_stay and c.went = 'home' and c.end_s <= u.all_s
),
lit_before as (
  select distinct h.infant_id
  from went_home h
  join known_courses c on c.infant_id = h.infant_id and c.start_s <= h.end_s
),
before_home as (
  select
    t.*,
    row_number() over (partition by t.infant_id order by t.trigger_s desc, t.trigger_table desc, t.trigger_id desc) as place
  from (
    select
      'serum' as trigger_table, infant_id, specimen_id as trigger_id, collected_s as trigger_s, unit, month,
      version, age_s, gestation_days, gap_micro, line_micro, bound
    from serum
    union all
    select
      'screens', infant_id, screen_id, measured_s, unit, month,
      version, age_s, gestation_days, gap_micro, line_micro, bound
    from screens
  ) t
  join of_going_home g on g.version = t.version
  join went_home h on h.infant_id = t.infant_id and t.trigger_s <= h.end_s
  left anti join lit_before x on x.infant_id = t.infant_id
),
events as (
  select
    'near_line' as trigger_kind, 'serum' as trigger_table, infant_id, specimen_id as trigger_id, collected_s as trigger_s, unit, month,
    version, age_s, gestation_days, gap_micro, line_micro, cast(null as bigint) as course_no,
    cast(null as bigint) as into_course_s
  from serum
  where bound is null and not in_or_after_phototherapy
  union all
  select
    'near_line', 'screens', s.infant_id, s.screen_id, s.measured_s, s.unit, s.month,
    s.version, s.age_s, s.gestation_days, s.gap_micro, s.line_micro, null, null
  from screens s
  left anti join paired p on p.screen_id = s.screen_id
  where s.left_out is null and not s.is_due and s.bound is null
  union all
  select
    'serum_above_line', 'serum', infant_id, specimen_id, collected_s, unit, month,
    version, age_s, gestation_days, null, line_micro, null, null
  from serum
  where is_above_line or line_micro is null
  union all
  select
    'course_start', 'courses', c.infant_id, concat(c.infant_id, ' course ', c.course_no), c.start_s, c.unit, c.month,
    l.version, null, null, null, null, c.course_no, null
  from known_courses c
  join protocol_limits l on c.start_s >= l.from_s and c.start_s < l.to_s
  union all
  select
    'course_end', 'courses', c.infant_id, concat(c.infant_id, ' course ', c.course_no), c.end_s, c.unit, c.end_month,
    l.version, null, null, null, null, c.course_no, null
  from known_courses c
  join protocol_limits l on c.end_s >= l.from_s and c.end_s < l.to_s
  where c.end_s is not null and not c.stop_assumed
  union all
  select
    'serum_in_course', 'serum', s.infant_id, s.specimen_id, s.collected_s, s.unit, s.month,
    s.version, s.age_s, s.gestation_days, null, null, c.course_no, s.collected_s - c.start_s
  from serum s
  join known_courses c on c.infant_id = s.infant_id and c.course_no = s.in_course_no
  union all
  select
    'going_home', trigger_table, infant_id, trigger_id, trigger_s, unit, month,
    version, age_s, gestation_days, gap_micro, line_micro, null, null
  from before_home
  where place = 1 and bound is null
),
risks as (
  select b.infant_id, c.version, count(*) as n
  from births b
  join protocol_codes c
    on (c.purpose = 'recheck_risk_feeding' and c.code = b.feeding)
    or (c.purpose = 'recheck_risk_factor' and strpos(concat(';', b.risk_factors, ';'), concat(';', c.code, ';')) > 0)
  group by b.infant_id, c.version
),
rounded as (
  select
    e.*, l.recheck_tolerance_s, l.recheck_accept_after_s, l.recheck_late_until_s,
    case when e.gap_micro < 0 then -1 else 1 end
      * ((2 * abs(e.gap_micro) + l.gap_rounded_to_micro) / (2 * l.gap_rounded_to_micro)) * l.gap_rounded_to_micro
      as asked_gap_micro
  from events e
  join protocol_limits l on l.version = e.version
),
matched as (
  select
    e.trigger_kind, e.infant_id, e.trigger_table, e.trigger_id, e.trigger_s, e.unit, e.version, e.age_s, e.gestation_days,
    e.gap_micro, e.course_no, r.rule, r.earliest_s, r.latest_s, r.accepts, r.screens_from_s, r.excused_when,
    r.excused_within_s, e.recheck_tolerance_s, e.recheck_accept_after_s, e.recheck_late_until_s,
    case
      when e.trigger_kind not in ('near_line', 'serum_above_line', 'going_home') then null
      when e.age_s is null then 'birth_time_unknown'
      when e.gestation_days is null then 'gestation_unknown'
      when e.line_micro is null then 'no_line'
    end as left_out,
    e.month,
    row_number() over (
      partition by r.rule, e.trigger_kind, e.trigger_table, e.trigger_id order by r.latest_s, r.earliest_s, r.accepts
    ) as place
  from rounded e
  join protocol_recheck r on r.version = e.version and r."trigger" = e.trigger_kind
  left join risks k on k.infant_id = e.infant_id and k.version = e.version
  where (r.risk = 'any' or (r.risk = 'present') = (k.n is not null))
    and coalesce(e.age_s > r.age_above_s, true)
    and coalesce(e.age_s >= r.age_at_least_s, true)
    and coalesce(e.age_s < r.age_below_s, true)
    and coalesce(e.gestation_days >= r.gestation_days_at_least, true)
    and coalesce(e.asked_gap_micro >= r.gap_at_least_micro, true)
    and coalesce(e.asked_gap_micro <= r.gap_at_most_micro, true)
    and coalesce(e.into_course_s >= r.into_course_s, true)
)
select
  trigger_kind, infant_id, trigger_table, trigger_id, trigger_s, unit, version, age_s, gestation_days, gap_micro,
  course_no, rule, earliest_s, latest_s, accepts, screens_from_s, excused_when, excused_within_s,
  recheck_tolerance_s, recheck_accept_after_s, recheck_late_until_s, left_out, month
from matched
where place = 1
