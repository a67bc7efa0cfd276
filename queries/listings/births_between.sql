-- title: Births between one case of severe jaundice and the next
-- grain: one row per figure and case
-- reads: severe_cases, known_births
-- choices: Cases of one second are told one after the other, births of the second before them. Of
--   the first case it counts the births since the first month of the report. Of one unit of
--   birth, or of all where $unit is empty.
with cases as (
  select case_kind, case_id, case_s, month
  from severe_cases
  where left_out is null and month between $first_month and $last_month and ($unit = '' or unit = $unit)
),
kinds as (
  select distinct case_kind
  from cases
),
moments as (
  select case_kind, case_s as at_s, 1 as is_case, case_id, month
  from cases
  union all
  select k.case_kind, b.birth_s, 0, b.infant_id, b.month
  from known_births b
  cross join kinds k
  where b.month between $first_month and $last_month and ($unit = '' or b.unit = $unit)
),
counted as (
  select
    case_kind, at_s, is_case, case_id, month,
    sum(1 - is_case) over (
      partition by case_kind order by at_s, is_case, case_id rows between unbounded preceding and current row
    ) as births
  from moments
)
select
  concat('severe_jaundice_', case_kind) as figure, month,
  births - coalesce(lag(births) over (partition by case_kind order by at_s, case_id), 0) as births_between
from counted
where is_case = 1
order by figure, at_s, case_id
