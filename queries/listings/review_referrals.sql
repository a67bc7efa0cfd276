-- title: Referrals of the babies of a case review
-- grain: one row per referral episode
-- reads: cases_to_review, referral_episodes, protocol_limits
select
  e.infant_id, e.index_screen_id, e.unit, e.index_s, e.within_s, l.referral_follow_up_s as follow_up_s, e.due_screens,
  e.answer_specimen_id, e.answer_collected_s, e.failed_attempts, e.outcome
from referral_episodes e
join (select distinct infant_id from cases_to_review) r on r.infant_id = e.infant_id
join protocol_limits l on l.version = e.version
order by e.infant_id, e.index_s, e.index_screen_id
