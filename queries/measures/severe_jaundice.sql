-- title: Severe jaundice
-- what: Babies with a serum in a band of the protocol, near the exchange line or above it, exchange
--   transfusions, and kernicterus codes, for each thousand births of the month. Bands are
--   cumulative: a baby counts once in each it reached.
-- grain: one row per figure and case, and one per birth for all figures: also names the tables
--   inside whose data end it lies
-- reads: severe_cases, known_births, known_until
-- needs: births
-- kind: rate
-- outcomes: cases, births
-- figures: severe_jaundice_* = cases / births of serum from * + severe_jaundice_births;
--   severe_jaundice_above_exchange_line = cases / births of serum from * + severe_jaundice_births;
--   severe_jaundice_near_exchange_line = cases / births of serum from * + severe_jaundice_births;
--   severe_jaundice_exchange_transfusion = cases / births of exchanges from * + severe_jaundice_births;
--   severe_jaundice_kernicterus_code = cases / births of stays from * + severe_jaundice_births
-- labels: severe_jaundice_* = Serum {band};
--   severe_jaundice_above_exchange_line = Serum above the exchange line;
--   severe_jaundice_near_exchange_line = Serum near the exchange line;
--   severe_jaundice_exchange_transfusion = Exchange transfusion;
--   severe_jaundice_kernicterus_code = Kernicterus code
-- quantity: per thousand births
-- cases: births
-- each: band of severe jaundice
-- choices: A case counts in the month of its serum, exchange or admission, a birth in its own: in a
--   month with few births the rate can be more than they bear. Unit is the unit of birth for both.
--   A band needs serum, an exchange transfusion the table of exchanges, a code the stays: a month
--   in which a figure's table has no row is no data; for exchanges, which are rare, only when the
--   table is not said to be complete through the month.
-- left out: serum in a band without birth time; of the exchange line the first serum in the month of a
--   baby without birth time, gestation or line
-- better: lower
-- direction: lower is better
-- chart: rate by month
-- source: above 425 umol/L: Canada, severe; kernicterus code NICE QS57; other bands local definitions
with known as (
  select
    b.month, b.unit, b.infant_id, b.born_s,
    concat_ws(
      ' ',
      case when b.birth_s <= u.serum_s then 'serum' end,
      case when b.birth_s <= u.exchanges_s then 'exchanges' end,
      case when b.birth_s <= u.stays_s then 'stays' end
    ) as also
  from known_births b
  cross join known_until u
),
cases as (
  select
    concat('severe_jaundice_', case_kind) as figure, month, unit, infant_id, case_id, case_s as at_s,
    case when left_out is null then 'outcome' else 'left_out' end as kind,
    coalesce(left_out, 'cases') as name, cast(null as varchar) as also
  from severe_cases
  union all
  select 'severe_jaundice_births', month, unit, infant_id, infant_id as case_id, born_s, 'outcome', 'births', also
  from known
  where also <> ''
)
select figure, month, unit, infant_id, case_id, at_s, kind, name, also
from cases
