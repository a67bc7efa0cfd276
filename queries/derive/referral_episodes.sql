-- title: Referrals, and what they came to
-- grain: one row per referral episode
-- order: month, infant_id, index_s, index_screen_id
-- reads: after_referrals
-- needs: births, screens, serum, phototherapy, stays
-- looks back: not at all
-- looks ahead: not at all
-- choices: A referral is open while its follow-up has not passed at data end, answered or not: else
--   answered ones would count before the others. The baby left when it died or was transferred out for
--   good in [index, index + window); where a stay ended in that interval without a disposition, the
--   episode is left out as disposition_unknown. One that would be missed, of a baby with a recent serum
--   below the line, is left out as recent_serum, of time to serum too. Time to serum ends with the first of: serum, going home at the end of
--   the chain of stays that contains the index or dying, leaving for good, data end, end of
--   follow-up; ties in this order. That chain ending without disposition before all of these
--   leaves the episode out. A result without a time is cut at the draw; one after data end or
--   follow-up is cut there.
with judged as (
  select
    *,
    least(home_after_s, died_after_s) as competing_after_s,
    least(left_after_s, data_end_after_s, referral_follow_up_s) as cut_after_s,
    case
      when data_end_after_s < referral_follow_up_s then 'open'
      when serum_after_s <= within_s then 'in_time'
      when serum_after_s is not null then 'late'
      when died_after_s < within_s or left_after_s < within_s then 'left'
      when unknown_after_s < within_s then 'disposition_unknown'
      when has_recent_serum then 'recent_serum'
      else 'missed'
    end as outcome
  from after_referrals
),
ended as (
  select
    *,
    case
      when outcome = 'recent_serum' then outcome
      when stay_unknown_after_s < least(serum_after_s, competing_after_s, cut_after_s) then 'disposition_unknown'
      when serum_after_s <= least(competing_after_s, cut_after_s) then 'serum'
      when competing_after_s <= cut_after_s then 'competing'
      when cut_after_s = data_end_after_s and data_end_after_s < referral_follow_up_s then 'data_end'
      else 'cut'
    end as serum_ended_by
  from judged
),
resulted as (
  select
    *,
    case serum_ended_by
      when 'serum' then serum_after_s
      when 'competing' then competing_after_s
      else cut_after_s
    end as serum_time_s,
    case
      when serum_ended_by <> 'serum' then serum_ended_by
      when result_after_s is null then 'cut'
      when result_after_s <= least(data_end_after_s, referral_follow_up_s) then 'serum'
      when data_end_after_s < referral_follow_up_s then 'data_end'
      else 'cut'
    end as result_ended_by
  from ended
)
select
  kind, infant_id, index_screen_id, unit, index_s, local_day, local_hour, is_weekend, age_s, version,
  within_s, due_screens, specimen_id as answer_specimen_id, collected_s as answer_collected_s,
  failed_attempts, outcome,
  serum_ended_by, serum_time_s,
  result_ended_by,
  case
    when serum_ended_by <> 'serum' then serum_time_s
    when result_after_s is null then serum_after_s
    else least(result_after_s, data_end_after_s, referral_follow_up_s)
  end as result_time_s,
  month
from resulted
