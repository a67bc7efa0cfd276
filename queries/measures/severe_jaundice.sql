-- title: Severe jaundice
-- what: Babies with a serum in a band of the protocol or above the exchange line, exchange
--   transfusions, and kernicterus codes, for each thousand births of the month. Bands are
--   cumulative: a baby counts once in each it reached.
-- grain: one row per figure and case, and per figure and birth
-- reads: severe_cases, births, data_ends, protocol_bands
-- needs: births
-- kind: rate
-- outcomes: cases, births
-- figures: severe_jaundice_* = cases / births of serum;
--   severe_jaundice_above_exchange_line = cases / births of serum;
--   severe_jaundice_exchange_transfusion = cases / births of exchanges;
--   severe_jaundice_kernicterus_code = cases / births of stays
-- choices: A case counts in the month of its serum, exchange or admission, a birth in its own: in a
--   month with few births the rate can be more than they bear. Unit is the unit of birth for both.
--   A band needs serum, an exchange transfusion the table of exchanges, a code the stays: a month
--   in which a figure's table has no row is no data; for exchanges, which are rare, only when the
--   table is not said to be complete through the month.
-- left out: serum in a band without birth time; of the exchange line babies without birth time,
--   gestation or line
-- better: lower
-- direction: lower is better
-- chart: rate by month
-- source: above 425 umol/L: Canada, severe; kernicterus code NICE QS57; other bands local definitions
with figures as (
  select distinct name as case_kind, 'serum' as of_table from protocol_bands
  union all
  select * from (values
    ('above_exchange_line', 'serum'), ('exchange_transfusion', 'exchanges'), ('kernicterus_code', 'stays')
  ) as f (case_kind, of_table)
),
ends as (
  select f.case_kind, min(d.through_s) as data_end_s
  from figures f
  join data_ends d on d.table_name in ('births', f.of_table)
  group by f.case_kind
),
counted as (
  select case_kind, month, unit, infant_id, case_id, case_s, 'outcome' as kind, 'cases' as name
  from severe_cases
  where left_out is null
  union all
  select case_kind, month, unit, infant_id, case_id, case_s, 'left_out', left_out
  from severe_cases
  where left_out is not null
  union all
  select e.case_kind, b.local_month, coalesce(b.unit, 'unknown'), b.infant_id, b.infant_id as case_id, b.born_s, 'outcome', 'births'
  from births b
  cross join ends e
  where coalesce(b.born_s, b.born_day_s) <= e.data_end_s
)
select concat('severe_jaundice_', case_kind) as figure, month, unit, infant_id, case_id, case_s as at_s, kind, name
from counted
where month between $first_month and $last_month
