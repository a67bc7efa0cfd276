-- title: The last test before going home
-- grain: one row per baby that went home from its birth stay, whose last test may ask for a recheck
-- order: month, infant_id
-- kept: while deriving
-- reads: judged_serum, judged_screens, courses, stay_chains, known_until, protocol_recheck
-- needs: births, screens, serum, phototherapy, stays
-- looks back: from going home to the last test before it
-- looks ahead: not at all
-- choices: Data end is the earliest of the tables needed; what happened later does not exist
--   yet, nor does a baby born later.
--   The last screen or valid serum by the end of the birth stay (of one moment the serum, then the
--   larger id), when the baby went home and no course had started by then. A last test with a bound
--   is no trigger, as its gap is unknown, and no earlier one takes its place.
with tests as (
  select
    'serum' as trigger_table, infant_id, specimen_id as trigger_id, collected_s as trigger_s, unit, month,
    version, age_s, gestation_days, gap_micro, line_micro, bound, known_from_s
  from judged_serum
  where is_valid
  union all
  select
    'screens', infant_id, screen_id, measured_s, unit, month,
    version, age_s, gestation_days, gap_micro, line_micro, bound, known_from_s
  from judged_screens
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
  join courses c on c.infant_id = h.infant_id and c.start_s <= h.end_s
  cross join known_until u
  where c.known_from_s <= u.all_s
),
before_home as (
  select
    t.*,
    row_number() over (partition by t.infant_id order by t.trigger_s desc, t.trigger_table desc, t.trigger_id desc) as place
  from tests t
  join of_going_home g on g.version = t.version
  join went_home h on h.infant_id = t.infant_id and t.trigger_s <= h.end_s
  left anti join lit_before x on x.infant_id = t.infant_id
  cross join known_until u
  where t.known_from_s <= u.all_s
)
select
  'going_home' as trigger_kind, trigger_table, infant_id, trigger_id, trigger_s, unit, version, age_s, gestation_days,
  gap_micro, line_micro, month
from before_home
where place = 1 and bound is null
