-- title: Rows of a month that were no case of a measure, by reason
-- grain: one row per measure, figure and row
-- reads: judged_screens, judged_serum, referral_episodes, courses, readmissions, pairs, known_births,
--   known_until, protocol_limits, protocol_windows
-- choices: What happened after the data end of a measure, or to a baby born after it, is dropped
--   first. The reasons of a measure stand in its header.
with born as (
  select b.infant_id, b.month, b.unit, b.born_s, b.birth_s, l.version, l.coverage_gestation_days
  from known_births b
  join protocol_limits l on b.birth_s >= l.from_s and b.birth_s < l.to_s
  where b.month = $month
),
screens as (
  select
    s.unit, s.infant_id, s.screen_id, s.measured_s, s.left_out, s.meets_plain_clause, s.is_due,
    s.known_from_s <= u.all_s as is_known, s.known_from_s <= u.screens_s as is_known_to_screens
  from judged_screens s
  cross join known_until u
  where s.month = $month
),
dropped as (
  select
    'screening_coverage' as measure, 'screening_coverage' as figure, b.unit, b.infant_id, b.infant_id as case_id,
    b.born_s as at_s, case when b.birth_s > u.all_s then 'after_data_end' else 'not_asked_for' end as name
  from born b
  cross join known_until u
  where b.birth_s > u.all_s or b.coverage_gestation_days is null
  union all
  select
    'missed_referral', 'missed_referral', s.unit, s.infant_id, s.screen_id, s.measured_s,
    case
      when not s.is_known then 'after_data_end'
      when s.left_out is not null then 'could_not_call'
      when not s.is_due then 'not_due'
      else 'same_referral'
    end
  from screens s
  left anti join referral_episodes r on r.index_screen_id = s.screen_id
  where not (s.is_known and s.left_out is not null and s.meets_plain_clause)
  union all
  select 'screens_outside_limits', 'screens_outside_limits', unit, infant_id, screen_id, measured_s, 'after_data_end'
  from screens
  where not is_known_to_screens
  union all
  select
    'failed_specimens', 'failed_specimens', s.unit, s.infant_id, s.specimen_id, s.collected_s, 'after_data_end'
  from judged_serum s
  cross join known_until u
  where s.month = $month and s.is_total_in_serum and s.known_from_s > u.specimens_s
  union all
  select
    'treatment_below_line', 'treatment_below_line', c.unit, c.infant_id, concat(c.infant_id, ' course ', c.course_no),
    c.start_s, 'after_data_end'
  from courses c
  cross join known_until u
  where c.month = $month and c.known_from_s > u.treatment_s
  union all
  select
    'jaundice_readmission', concat('jaundice_readmission_', w.figure), b.unit, b.infant_id, b.infant_id as case_id, b.born_s,
    'after_data_end'
  from born b
  join protocol_windows w on w.version = b.version and w.purpose = 'readmission'
  left anti join readmissions r on r.infant_id = b.infant_id
  union all
  select 'meter_bias', 'meter_bias', unit, infant_id, screen_id, measured_s, 'later_pair'
  from pairs
  where month = $month and not is_first_of_baby
)
select measure, figure, unit, infant_id, case_id, at_s, name
from dropped
