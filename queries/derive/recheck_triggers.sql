-- title: Recheck triggers: what made each obligation
-- grain: one row per trigger and recheck rule it falls under
-- order: month, rule, infant_id, trigger_s, trigger_table, trigger_id
-- reads: tests_to_recheck, courses_to_recheck, last_tests_before_home, births, protocol_limits, protocol_recheck,
--   protocol_codes
-- needs: births, screens, serum, phototherapy, stays
-- looks back: not at all
-- looks ahead: not at all
-- choices: A serum whose baby has no birth time, gestation or line is left out where what is known of
--   it does not rule it out as a trigger.
--   A rule that asks for a risk: a risk factor or feeding of the protocol's lists, or feeding that
--   is not recorded, makes the risk present. Where none does and the risk factors are not recorded,
--   the protocol says how the baby is judged (unknown_risk): left_out gives not_recorded.
--   Gaps are rounded to the protocol's step, half away from zero, before bands are compared.
--   Where rows of one rule cannot be told apart, as what they ask for is unknown, one is made. Unit
--   and month are those of the trigger: the test, or the course and its start or end.
with events as (
  select
    trigger_kind, trigger_table, infant_id, trigger_id, trigger_s, unit, month, version, age_s, gestation_days, gap_micro,
    line_micro, course_no, into_course_s, cast(null as varchar) as left_out
  from tests_to_recheck
  union all
  select
    trigger_kind, trigger_table, infant_id, trigger_id, trigger_s, unit, month, version, null, null, null,
    null, course_no, null, left_out
  from courses_to_recheck
  union all
  select
    trigger_kind, trigger_table, infant_id, trigger_id, trigger_s, unit, month, version, age_s, gestation_days, gap_micro,
    line_micro, null, null, null
  from last_tests_before_home
),
risks as (
  select
    b.infant_id, c.version,
    bool_or(c.purpose = 'recheck_risk_feeding' and (nullif(b.feeding, '') is null or c.code = b.feeding)
      or c.purpose = 'recheck_risk_factor' and strpos(concat(';', b.risk_factors, ';'), concat(';', c.code, ';')) > 0)
      as is_present,
    bool_or(c.purpose = 'recheck_risk_factor' and nullif(b.risk_factors, '') is null) as is_unknown
  from births b
  join protocol_codes c on c.purpose in ('recheck_risk_feeding', 'recheck_risk_factor')
  group by b.infant_id, c.version
),
rounded as (
  select
    e.*, not k.is_present and k.is_unknown as is_risk_unknown,
    case when k.is_present then 'present' when k.is_unknown then l.unknown_recheck_risk else 'absent' end as risk,
    l.recheck_tolerance_s, l.recheck_accept_after_s, l.recheck_late_until_s,
    case when e.gap_micro < 0 then -1 else 1 end
      * ((2 * abs(e.gap_micro) + l.gap_rounded_to_micro) / (2 * l.gap_rounded_to_micro)) * l.gap_rounded_to_micro
      as asked_gap_micro
  from events e
  join protocol_limits l on l.version = e.version
  left join risks k on k.infant_id = e.infant_id and k.version = e.version
),
matched as (
  select
    e.trigger_kind, e.infant_id, e.trigger_table, e.trigger_id, e.trigger_s, e.unit, e.version, e.age_s, e.gestation_days,
    e.gap_micro, e.course_no, r.rule, r.earliest_s, r.latest_s, r.accepts, r.screens_from_s, r.excused_when,
    r.excused_within_s, e.recheck_tolerance_s, e.recheck_accept_after_s, e.recheck_late_until_s,
    coalesce(e.left_out, case
      when e.trigger_kind not in ('near_line', 'serum_above_line', 'going_home') then null
      when e.age_s is null then 'birth_time_unknown'
      when e.gestation_days is null then 'gestation_unknown'
      when e.line_micro is null then 'no_line'
    end, case when r.risk <> 'any' and e.risk = 'left_out' then 'not_recorded' end) as left_out,
    coalesce(r.risk <> 'any' and e.is_risk_unknown, false) as rests_on_unknown_risk,
    e.month,
    row_number() over (
      partition by r.rule, e.trigger_kind, e.trigger_table, e.trigger_id order by r.latest_s, r.earliest_s, r.accepts
    ) as place
  from rounded e
  join protocol_recheck r on r.version = e.version and r."trigger" = e.trigger_kind
  where (r.risk = 'any' or e.risk in (r.risk, 'left_out'))
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
  recheck_tolerance_s, recheck_accept_after_s, recheck_late_until_s, left_out, rests_on_unknown_risk, month
from matched
where place = 1
