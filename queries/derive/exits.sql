-- title: How babies leave
-- grain: one row per death, transfer out, or end of a chain of unknown disposition
-- order: month, infant_id, at_s, how
-- kept: while deriving
-- reads: chained_stays, stay_chains
-- looks back: to a baby's first stay
-- looks ahead: to the baby's next admission
-- choices: A death is the end of a stay, also where the chain runs on. A transfer out and an
--   unknown disposition are those of a chain. known_s is from when on it can be known. back_s is when
--   the baby was next admitted: one that is back by the end of a case's follow-up has not left that case.
with chains as (
  select
    infant_id, end_s, left_for_good_s, went, month,
    lead(start_s) over (partition by infant_id order by chain_no) as back_s
  from stay_chains
)
select
  infant_id, discharged_s as at_s, discharged_s as known_s, cast(null as bigint) as back_s, 'died' as how, month
from chained_stays
where disposition = 'died' and discharged_s is not null
union all
select infant_id, end_s, coalesce(left_for_good_s, end_s), back_s, went, month
from chains
where went in ('transfer', 'unknown')
