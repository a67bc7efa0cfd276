-- title: Stays, numbered by the chain of transfers they belong to
-- grain: one row per stay
-- order: month, infant_id, admitted_s, stay_id
-- reads: stays, protocol_limits
-- looks back: to a baby's first stay
-- looks ahead: not at all
-- choices: A stay joins the chain of the stay just before it (by admission, discharge, id) when
--   that one ended in a transfer and this one was admitted by the end of the protocol's hours
--   after it, or before it ended. An ended stay without a disposition chains nothing.
with ordered as (
  select
    s.*, l.transfer_within_s,
    lag(s.discharged_s) over (
      partition by s.infant_id order by s.admitted_s, s.discharged_s nulls last, s.stay_id
    ) as before_discharged_s,
    lag(s.disposition) over (
      partition by s.infant_id order by s.admitted_s, s.discharged_s nulls last, s.stay_id
    ) as before_disposition
  from stays s
  join protocol_limits l on s.admitted_s >= l.from_s and s.admitted_s < l.to_s
),
marked as (
  select
    *,
    case
      when before_disposition = 'transfer' and admitted_s <= before_discharged_s + transfer_within_s then 0
      else 1
    end as opens
  from ordered
)
select
  infant_id, stay_id, unit, admitted_s, discharged_s, source, disposition, primary_code,
  transfer_within_s, local_month as month,
  sum(opens) over (
    partition by infant_id order by admitted_s, discharged_s nulls last, stay_id
    rows between unbounded preceding and current row
  ) as chain_no,
  row_number() over (
    partition by infant_id order by admitted_s, discharged_s nulls last, stay_id
  ) as stay_no
from marked
