-- title: The review list: every case that a reader of the notes is to see
-- grain: one row per finding
-- order: month, infant_id, case_key
-- reads: findings_of_serum, findings_of_care, referral_episodes, above_line_serum, recheck_obligations, judged_serum,
--   chained_stays, known_births, known_until, protocol_limits, local_offsets
-- looks back: not at all
-- looks ahead: to the death of the baby
-- choices: A figure may lose a baby; this list may not. Grade 1 is the gravest of 5; inside a grade untreated
--   babies come first, then by how far the serum was above the exchange line (over_exchange_micro, negative
--   below it). A baby that died by the protocol's severe age, or at an unknown one, is a case of grade 1
--   when it has any finding, or was owed a serum, phototherapy or a recheck that is still open. case_key names finding, outcome where it may still change, and fact: a case that a
--   later load decides has another key, so it comes back although it was reviewed.
with found as (
  select grade, finding, outcome, case_key, fact_table, fact_id, beside, infant_id, unit, at_s, month from findings_of_serum
  union all
  select grade, finding, outcome, case_key, fact_table, fact_id, beside, infant_id, unit, at_s, month from findings_of_care
),
deaths as (
  select
    s.infant_id, s.stay_id, s.unit, s.discharged_s as at_s,
    to_char(cast(cast((s.discharged_s + o.offset_s) / 86400 as int) as date), '%Y-%m') as month,
    row_number() over (partition by s.infant_id order by s.discharged_s, s.stay_id) as place
  from chained_stays s
  cross join known_until u
  join known_births b on b.infant_id = s.infant_id
  join protocol_limits l on s.discharged_s >= l.from_s and s.discharged_s < l.to_s
  join local_offsets o on s.discharged_s >= o.from_s and s.discharged_s < o.to_s
  where s.disposition = 'died' and s.discharged_s <= u.stays_s and coalesce(s.discharged_s - b.born_s <= l.severe_age_at_most_s, true)
),
owed as (
  select infant_id from found
  union
  select infant_id from referral_episodes where outcome = 'open' and answer_specimen_id is null
  union
  select infant_id from above_line_serum where outcome = 'open' and not is_treated
  union
  select infant_id from recheck_obligations where outcome = 'open'
),
all_found as (
  select * from found
  union all
  select 1, 'died', null, concat('died/', d.stay_id), 'stays', d.stay_id, null, d.infant_id, coalesce(d.unit, 'unknown'), d.at_s, d.month
  from deaths d
  left semi join owed o on o.infant_id = d.infant_id
  where d.place = 1
)
select
  a.grade, a.finding, a.outcome, a.case_key, a.fact_table, a.fact_id, a.beside, a.infant_id, a.unit, a.at_s,
  a.finding in ('never_treated', 'untreated') as is_untreated,
  s.compare_micro - s.exchange_line_micro as over_exchange_micro,
  a.month
from all_found a
left join judged_serum s on a.fact_table = 'serum' and s.specimen_id = a.fact_id
