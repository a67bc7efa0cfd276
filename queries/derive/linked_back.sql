-- title: Readmissions for jaundice and severe cases, and what the birth stay had missed
-- grain: one row per baby and kind of case
-- order: month, infant_id, case_kind
-- reads: readmissions, severe_cases, stay_chains, referral_episodes, recheck_obligations, above_line_serum,
--   judged_screens, home_at_risk, known_births, known_until, protocol_windows
-- looks back: to the start of the birth stay
-- looks ahead: not at all
-- choices: Each part ends with the data end of the tables it needs. Counted is what lies inside the birth
--   stay, its end included, and before the case: referrals of either kind missed and late, by their first
--   screen; rechecks near the line, after phototherapy or before going home that were late or never made,
--   by their trigger; serum above the line without phototherapy in time; screens outside limits; and whether
--   the baby went home at risk. A baby without a birth stay is told as that. A readmission counts up to the longest
--   age of the protocol. A clue to prevention: not every case of which something was missed could
--   have been prevented. Month and unit are those of the birth for a readmission, else the case's.
with birth_stays as (
  select
    c.infant_id, c.start_s,
    case when c.end_s <= u.readmission_s and coalesce(c.left_for_good_s <= u.readmission_s, true) then c.end_s end as end_s
  from stay_chains c
  cross join known_until u
  join known_births b on b.infant_id = c.infant_id and b.birth_s <= u.readmission_s
  where c.is_birth_stay and c.start_s <= u.readmission_s
),
readmitted as (
  select r.infant_id, 'readmission' as case_kind, r.readmitted_s as case_s, r.unit, r.month
  from readmissions r
  join (
    select version, max(within_s) as within_s from protocol_windows where purpose = 'readmission' group by version
  ) w on w.version = r.version
  where r.state = 'home' and r.readmitted_age_s <= w.within_s
),
cases as (
  select * from readmitted
  union all
  select infant_id, case_kind, case_s, unit, month from severe_cases where left_out is null
),
missed as (
  select infant_id, concat('referral_', outcome) as what, index_s as at_s
  from referral_episodes
  where outcome in ('missed', 'late')
  union all
  select infant_id, 'recheck', trigger_s
  from recheck_obligations
  where outcome in ('none', 'late') and trigger_kind in ('near_line', 'course_end', 'going_home')
  union all
  select infant_id, 'untreated', collected_s
  from above_line_serum
  where outcome in ('late', 'none')
  union all
  select infant_id, concat('home_', what), home_s
  from home_at_risk
  union all
  select s.infant_id, 'outside_limits', s.measured_s
  from judged_screens s
  cross join known_until u
  where s.is_outside_limits and s.known_from_s <= u.screens_s
)
select
  c.infant_id, c.case_kind, c.case_s, c.unit,
  count(case when m.what = 'referral_missed' then 1 end) as missed_referrals,
  count(case when m.what = 'referral_late' then 1 end) as late_referrals,
  count(case when m.what = 'recheck' then 1 end) as missed_rechecks,
  count(case when m.what = 'untreated' then 1 end) as untreated,
  count(case when m.what = 'outside_limits' then 1 end) as screens_outside_limits,
  count(case when m.what = 'home_referral_unanswered' then 1 end) > 0 as home_unanswered,
  count(case when m.what = 'home_near_line' then 1 end) > 0 as home_near_line,
  max(s.start_s) is not null as has_birth_stay,
  c.month
from cases c
left join birth_stays s on s.infant_id = c.infant_id
left join missed m
  on m.infant_id = c.infant_id and m.at_s < c.case_s
  and m.at_s >= s.start_s and (s.end_s is null or m.at_s <= s.end_s)
group by c.infant_id, c.case_kind, c.case_s, c.unit, c.month
