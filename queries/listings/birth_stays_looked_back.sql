-- title: What the birth stays of readmitted and severe babies had missed
-- grain: one row per kind of case
-- reads: linked_back
-- choices: The month is that of the birth for a readmission, else that of the case. A baby may
--   count under several columns. Of one unit, or of all where $unit is empty.
select
  case_kind,
  count(*) as babies,
  count(case when missed_referrals > 0 then 1 end) as missed_referral,
  count(case when late_referrals > 0 then 1 end) as late_referral,
  count(case when missed_rechecks > 0 then 1 end) as missed_recheck,
  count(case when untreated > 0 then 1 end) as untreated,
  count(case when screens_outside_limits > 0 then 1 end) as outside_limits,
  count(case when home_unanswered or home_near_line then 1 end) as home_at_risk,
  count(case when not has_birth_stay then 1 end) as no_birth_stay,
  count(case
    when has_birth_stay and not home_unanswered and not home_near_line
      and missed_referrals + late_referrals + missed_rechecks + untreated + screens_outside_limits = 0 then 1
  end) as none_of_these
from linked_back
where month = $month and ($unit = '' or unit = $unit)
group by case_kind
order by case_kind
