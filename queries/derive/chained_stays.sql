-- title: Stays, numbered by the chain they belong to
-- grain: one row per stay
-- order: month, infant_id, admitted_s, stay_id
-- reads: stays, protocol_limits
-- looks back: to a baby's first stay
-- looks ahead: to the next admission from home
-- choices: Stays go by admission, end (an open one last), id. One belongs to the chain before it
--   when admitted before the latest end of that chain, in which an open stay has no end; or by the
--   end of the protocol's hours after it, where a stay that ended then ended by transfer. An open
--   stay ends with the baby's next admission from home, flagged discharge_assumed, its disposition
--   unknown: a forgotten discharge must not swallow a readmission.
with from_home as (
  select o.stay_id, min(h.admitted_s) as next_s
  from stays o
  join stays h on h.infant_id = o.infant_id and h.source = 'home' and h.admitted_s > o.admitted_s
  where o.discharged_s is null
  group by o.stay_id
),
ended as (
  select
    s.infant_id, s.stay_id, s.unit, s.admitted_s, s.source, s.primary_code, s.local_month, l.transfer_within_s,
    coalesce(s.discharged_s, f.next_s) as end_s,
    f.next_s is not null as discharge_assumed,
    case when f.next_s is null then s.disposition end as disposition
  from stays s
  join protocol_limits l on s.admitted_s >= l.from_s and s.admitted_s < l.to_s
  left join from_home f on f.stay_id = s.stay_id
),
ordered as (
  select
    *,
    max(end_s) over before as before_end_s,
    max(case when disposition = 'transfer' then end_s end) over before as before_transfer_s,
    max(case when end_s is null then 1 else 0 end) over before as before_is_open
  from ended
  window before as (
    partition by infant_id order by admitted_s, end_s nulls last, stay_id
    rows between unbounded preceding and 1 preceding
  )
),
marked as (
  select
    *,
    case
      when before_is_open = 1 or admitted_s < before_end_s then 0
      when before_transfer_s = before_end_s and admitted_s <= before_end_s + transfer_within_s then 0
      else 1
    end as opens
  from ordered
)
select
  infant_id, stay_id, unit, admitted_s, end_s as discharged_s, discharge_assumed, source, disposition,
  primary_code, transfer_within_s, local_month as month,
  sum(opens) over (
    partition by infant_id order by admitted_s, end_s nulls last, stay_id
    rows between unbounded preceding and current row
  ) as chain_no,
  row_number() over (
    partition by infant_id order by admitted_s, end_s nulls last, stay_id
  ) as stay_no
from marked
