-- title: Stays of the babies of a case review
-- grain: one row per stay
-- reads: cases_to_review, chained_stays, stay_chains
-- choices: A discharge that was assumed is not shown as one.
select
  s.infant_id, s.stay_id, s.unit, s.admitted_s,
  case when not s.discharge_assumed then s.discharged_s end as discharged_s, s.source, s.disposition, s.primary_code, c.is_birth_stay
from chained_stays s
join (select distinct infant_id from cases_to_review) r on r.infant_id = s.infant_id
join stay_chains c on c.infant_id = s.infant_id and c.chain_no = s.chain_no
order by s.infant_id, s.stay_no
