-- title: Chains of stays that overlap or follow a transfer
-- grain: one row per chain: one continuous time in hospital
-- order: month, infant_id, chain_no
-- reads: chained_stays, births
-- looks back: to a baby's first stay
-- looks ahead: to the end of the chain
-- choices: A chain is [start, end): it begins with its first stay and ends with its latest end,
--   never while one of its stays is open. It goes where the stays that end then go: died before
--   home before transfer before unknown. The birth stay is the earliest chain that holds a
--   stay from birth, or during which the baby was born. A chain that ends in a transfer is left for
--   good only once the protocol's hours have passed at data end without an admission:
--   left_for_good_s is when that is known.
with spans as (
  select
    infant_id, chain_no, min(stay_no) as first_stay_no, min(admitted_s) as start_s,
    case when max(case when discharged_s is null then 1 else 0 end) = 0 then max(discharged_s) end as end_s,
    coalesce(bool_or(source = 'birth'), false) as has_stay_from_birth
  from chained_stays
  group by infant_id, chain_no
),
last_stays as (
  select
    s.infant_id, s.chain_no,
    max(c.transfer_within_s) as transfer_within_s,
    max(case c.disposition when 'died' then 3 when 'home' then 2 when 'transfer' then 1 else 0 end) as goes,
    bool_or(c.discharge_assumed) as discharge_assumed
  from spans s
  join chained_stays c
    on c.infant_id = s.infant_id and c.chain_no = s.chain_no and c.discharged_s = s.end_s
  group by s.infant_id, s.chain_no
),
chains as (
  select
    s.infant_id, s.chain_no, s.start_s, s.end_s, f.stay_id as first_stay_id, f.source, f.unit, f.month,
    case l.goes when 3 then 'died' when 2 then 'home' when 1 then 'transfer' when 0 then 'unknown' end as went,
    case when l.goes = 1 then s.end_s + l.transfer_within_s end as left_for_good_s,
    coalesce(l.discharge_assumed, false) as discharge_assumed,
    s.has_stay_from_birth
      or coalesce(b.born_s >= s.start_s and (s.end_s is null or b.born_s < s.end_s), false) as holds_birth
  from spans s
  join chained_stays f on f.infant_id = s.infant_id and f.stay_no = s.first_stay_no
  join births b on b.infant_id = s.infant_id
  left join last_stays l on l.infant_id = s.infant_id and l.chain_no = s.chain_no
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
  infant_id, chain_no, start_s, first_stay_id, source, unit, end_s, went, discharge_assumed, left_for_good_s,
  holds_birth and place = 1 as is_birth_stay,
  month
from ranked
