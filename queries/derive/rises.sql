-- title: Fast rises between two tests of one kind
-- grain: one row per two consecutive tests of a baby that rose by the protocol's rate or more
-- order: month, infant_id, test_table, at_s, second_id
-- reads: judged_screens, judged_serum, known_until, protocol_rises
-- needs: births, screens, serum
-- looks back: to the test of that kind before
-- looks ahead: not at all
-- choices: Data end is the earliest of the tables needed; what happened later does not exist yet.
--   Screens with screens, valid serum with valid serum, without bounds, at least the protocol's
--   hours apart. The rate asked for goes by the age at the second test; at an unknown age nothing
--   is flagged. Month is that of the second test. A flag for case review, in no rate.
with tests as (
  select 'screens' as test_table, infant_id, screen_id as test_id, measured_s as at_s, known_from_s, value_micro, age_s, version, unit, month
  from judged_screens
  where bound is null
  union all
  select 'serum', infant_id, specimen_id, collected_s, known_from_s, value_micro, age_s, version, unit, month
  from judged_serum
  where is_valid and bound is null
),
consecutive as (
  select
    t.test_table, t.infant_id, t.test_id as second_id, t.at_s, t.value_micro, t.age_s, t.version, t.unit, t.month,
    lag(t.test_id) over (partition by t.infant_id, t.test_table order by t.at_s, t.test_id) as first_id,
    lag(t.at_s) over (partition by t.infant_id, t.test_table order by t.at_s, t.test_id) as first_s,
    lag(t.value_micro) over (partition by t.infant_id, t.test_table order by t.at_s, t.test_id) as first_micro
  from tests t
  cross join known_until u
  where t.known_from_s <= u.tests_s
)
select
  c.infant_id, c.test_table, c.first_id, c.second_id, c.at_s, c.age_s,
  c.value_micro - c.first_micro as rise_micro, c.at_s - c.first_s as apart_s, c.unit, c.month
from consecutive c
join protocol_rises r
  on r.version = c.version and c.at_s - c.first_s >= r.apart_s
  and coalesce(c.age_s > r.age_above_s, r.age_above_s is null) and coalesce(c.age_s <= r.age_at_most_s, r.age_at_most_s is null)
where c.age_s is not null and (c.value_micro - c.first_micro) * 3600 >= r.micro_per_h * (c.at_s - c.first_s)
