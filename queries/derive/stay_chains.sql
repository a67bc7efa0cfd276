-- title: Stays chained through transfers
-- grain: one row per chain: one continuous time in hospital
-- order: month, infant_id, chain_no
-- reads: chained_stays, births
-- looks back: to a baby's first stay
-- looks ahead: to the end of the chain
-- choices: A chain is [start, end); it ends, and goes where, as its last stay does. The birth
--   stay is the earliest chain that holds a stay from birth, or a stay during which the baby
--   was born. A chain that ends in a transfer is left for good only once the protocol's hours
--   have passed at data end without an admission: left_for_good_s is when that is known.
with last_stay as (
  select infant_id, chain_no, max(stay_no) as stay_no, min(stay_no) as first_stay_no
  from chained_stays
  group by infant_id, chain_no
),
holds_birth as (
  select
    c.infant_id, c.chain_no,
    max(case
      when c.source = 'birth' then 1
      when b.born_s >= c.admitted_s and (c.discharged_s is null or b.born_s < c.discharged_s) then 1
      else 0
    end) as holds_birth
  from chained_stays c
  join births b on b.infant_id = c.infant_id
  group by c.infant_id, c.chain_no
),
chains as (
  select
    l.infant_id, l.chain_no, f.admitted_s as start_s, f.stay_id as first_stay_id, f.source, f.unit, f.month,
    e.discharged_s as end_s,
    case when e.discharged_s is not null then coalesce(e.disposition, 'unknown') end as went,
    case when e.disposition = 'transfer' then e.discharged_s + e.transfer_within_s end as left_for_good_s,
    h.holds_birth
  from last_stay l
  join chained_stays f on f.infant_id = l.infant_id and f.stay_no = l.first_stay_no
  join chained_stays e on e.infant_id = l.infant_id and e.stay_no = l.stay_no
  join holds_birth h on h.infant_id = l.infant_id and h.chain_no = l.chain_no
),
ranked as (
  select
    *,
    row_number() over (
      partition by infant_id, holds_birth order by start_s, first_stay_id
    ) as place
  from chains
)
select
  infant_id, chain_no, start_s, first_stay_id, source, unit, end_s, went, left_for_good_s,
  holds_birth = 1 and place = 1 as is_birth_stay,
  month
from ranked
