-- title: Fast rises between two tests of one kind
-- grain: one row per test that rose by the protocol's rate since the one it is compared with
-- order: month, infant_id, test_table, at_s, second_id
-- reads: judged_screens, judged_serum, courses, known_until, protocol_rises
-- needs: births, screens, serum, phototherapy, stays
-- looks back: by the protocol's longest time between two tests
-- looks ahead: not at all
-- choices: Data end is the earliest of the tables needed; what happened later does not exist yet.
--   Screens outside phototherapy and the protocol's hours after it, valid serum, none with a bound. Each
--   test is compared with the latest earlier one of its kind that lies at least and at most the protocol's
--   hours before it, so that frequent testing hides nothing (of one second the larger id); no course may
--   start or end strictly between. The rate goes by the age at the second test, up to the protocol's age; at
--   an unknown age a rise by the lowest rate is left out. Month and unit are those of the second test.
with tests as (
  select 'screens' as test_table, infant_id, screen_id as test_id, measured_s as at_s, known_from_s, value_micro, age_s, version, unit, month
  from judged_screens
  where bound is null and not in_or_after_phototherapy
  union all
  select 'serum', infant_id, specimen_id, collected_s, known_from_s, value_micro, age_s, version, unit, month
  from judged_serum
  where is_valid and bound is null
),
limits as (
  select version, min(apart_s) as apart_s, min(apart_at_most_s) as apart_at_most_s, min(micro_per_h) as lowest_micro_per_h
  from protocol_rises
  group by version
),
compared as (
  select
    t.*, f.test_id as first_id, f.at_s as first_s, f.value_micro as first_micro, l.lowest_micro_per_h,
    row_number() over (partition by t.test_table, t.test_id order by f.at_s desc, f.test_id desc) as place
  from tests t
  cross join known_until u
  join limits l on l.version = t.version
  join tests f
    on f.infant_id = t.infant_id and f.test_table = t.test_table
    and t.at_s - f.at_s >= l.apart_s and t.at_s - f.at_s <= l.apart_at_most_s
  where t.known_from_s <= u.all_s
),
between_courses as (
  select distinct t.test_table, t.test_id
  from compared t
  cross join known_until u
  join courses c
    on c.infant_id = t.infant_id
    and ((c.start_s > t.first_s and c.start_s < t.at_s) or (c.end_s > t.first_s and c.end_s < t.at_s))
  where t.place = 1 and c.known_from_s <= u.all_s
)
select
  c.infant_id, c.test_table, c.first_id, c.test_id as second_id, c.at_s, c.age_s,
  c.value_micro - c.first_micro as rise_micro, c.at_s - c.first_s as apart_s,
  case when c.age_s is null then 'birth_time_unknown' end as left_out, c.unit, c.month
from compared c
left anti join between_courses b on b.test_table = c.test_table and b.test_id = c.test_id
left join protocol_rises r
  on r.version = c.version and c.age_s <= r.young_s
  and coalesce(c.age_s > r.age_above_s, true) and coalesce(c.age_s <= r.age_at_most_s, true)
where c.place = 1
  and case
    when c.age_s is null then (c.value_micro - c.first_micro) * 3600 >= c.lowest_micro_per_h * (c.at_s - c.first_s)
    when r.is_strict then (c.value_micro - c.first_micro) * 3600 > r.micro_per_h * (c.at_s - c.first_s)
    else (c.value_micro - c.first_micro) * 3600 >= r.micro_per_h * (c.at_s - c.first_s)
  end
