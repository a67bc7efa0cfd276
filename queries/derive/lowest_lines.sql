-- title: The lowest line that what is known of a test allows
-- grain: one row per screen and serum without a line
-- order: month, infant_id, test_table, test_id
-- kept: while deriving
-- reads: aged_tests, protocol_versions, protocol_lines
-- looks back: not at all
-- looks ahead: not at all
-- choices: Of all lines of the standard that the known of gestation and age allow, at whatever risk: at an
--   unknown age the lowest at any. A test below it cannot have been above the line. There is no row where
--   the standard has no line for the gestation.
select
  a.infant_id, a.test_table, a.test_id, a.month,
  min(case
    when a.age_s is null then least(p.phototherapy_from_micro, p.phototherapy_to_micro)
    else p.phototherapy_from_micro
      + (p.phototherapy_to_micro - p.phototherapy_from_micro) * (greatest(a.age_s, 0) - p.age_from_s) / (p.age_to_s - p.age_from_s)
  end) as lowest_micro
from aged_tests a
join protocol_versions v on v.version = a.version
join protocol_lines p
  on p.standard = v.standard
  and coalesce(p.gestation_weeks = a.gestation_weeks, true)
  and coalesce(greatest(a.age_s, 0) >= p.age_from_s and greatest(a.age_s, 0) < p.age_to_s, true)
where a.line_micro is null
group by a.infant_id, a.test_table, a.test_id, a.month
