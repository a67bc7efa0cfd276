-- title: Rows of a month that were no case of a measure, by reason
-- grain: one row per measure, figure and row
-- reads: judged_screens, judged_serum, referral_episodes, courses, readmissions, pairs, births, data_ends,
--   protocol_limits, protocol_windows
-- choices: What happened after the data end of a measure, or to a baby born after it, is dropped
--   first. The reasons of a measure stand in its header.
with ends as (
  select
    min(case when table_name in ('births', 'screens', 'serum', 'phototherapy', 'stays') then through_s end) as of_all_s,
    min(case when table_name in ('births', 'screens') then through_s end) as of_screens_s,
    min(case when table_name in ('births', 'serum') then through_s end) as of_serum_s,
    min(case when table_name in ('births', 'serum', 'phototherapy', 'stays') then through_s end) as of_treatment_s
  from data_ends
),
born as (
  select
    b.infant_id, b.local_month as month, coalesce(b.unit, 'unknown') as unit, b.born_s,
    coalesce(b.born_s, b.born_day_s) as birth_s, l.version, l.coverage_gestation_days
  from births b
  join protocol_limits l
    on coalesce(b.born_s, b.born_day_s) >= l.from_s and coalesce(b.born_s, b.born_day_s) < l.to_s
),
screens as (
  select
    s.unit, s.infant_id, s.screen_id, s.measured_s, s.left_out, s.meets_plain_clause, s.is_due,
    coalesce(b.birth_s <= e.of_all_s and s.measured_s <= e.of_all_s, false) as is_known,
    coalesce(b.birth_s <= e.of_screens_s and s.measured_s <= e.of_screens_s, false) as is_known_to_screens
  from judged_screens s
  cross join ends e
  left join born b on b.infant_id = s.infant_id
  where s.month = $month
),
dropped as (
  select
    'screening_coverage' as measure, 'screening_coverage' as figure, b.unit, b.infant_id, b.infant_id as case_id,
    b.born_s as at_s, case when b.birth_s > e.of_all_s then 'after_data_end' else 'not_asked_for' end as name
  from born b
  cross join ends e
  where b.month = $month and (b.birth_s > e.of_all_s or b.coverage_gestation_days is null)
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
  cross join ends e
  left join born b on b.infant_id = s.infant_id
  where s.month = $month and s.is_total_in_serum
    and not coalesce(b.birth_s <= e.of_serum_s and s.collected_s <= e.of_serum_s, false)
  union all
  select
    'treatment_below_line', 'treatment_below_line', c.unit, c.infant_id, concat(c.infant_id, ' course ', c.course_no),
    c.start_s, 'after_data_end'
  from courses c
  cross join ends e
  left join born b on b.infant_id = c.infant_id
  where c.month = $month and not coalesce(b.birth_s <= e.of_treatment_s and c.start_s <= e.of_treatment_s, false)
  union all
  select
    'jaundice_readmission', concat('jaundice_readmission_', w.figure), b.unit, b.infant_id, b.infant_id as case_id, b.born_s,
    'after_data_end'
  from born b
  join protocol_windows w on w.version = b.version and w.purpose = 'readmission'
  left anti join readmissions r on r.infant_id = b.infant_id
  where b.month = $month
  union all
  select 'meter_bias', 'meter_bias', unit, infant_id, screen_id, measured_s, 'later_pair'
  from pairs
  where month = $month and not is_first_of_baby
)
select measure, figure, unit, infant_id, case_id, at_s, name
from dropped
