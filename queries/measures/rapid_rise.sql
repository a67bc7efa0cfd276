-- title: Rapid rise
-- what: Babies with a rise of bilirubin above the protocol's rate, for each thousand births of the month: a
--   sign of haemolysis, whatever the value.
-- grain: one row per baby with such a rise, and one per birth
-- reads: rises, known_births, known_until
-- needs: births, screens, serum, phototherapy, stays
-- kind: rate
-- outcomes: cases, births
-- figures: rapid_rise = cases / births from rapid_rise
-- labels: rapid_rise = Rapid rise
-- quantity: per thousand births
-- cases: births
-- choices: A baby counts once, at its first such rise by time, in the month of the second test; a birth in
--   its own. Unit is the unit of birth for both.
-- left out: a rise by the lowest rate of a baby without birth time, once a month
-- better: lower
-- direction: lower is better
-- chart: rate by month
-- source: NICE CG98: more than 8.5 umol/L each hour; AAP 2022: 0.3 mg/dL each hour to 24 h of age, 0.2 after
with placed as (
  select
    r.*,
    row_number() over (
      partition by r.infant_id, case when r.left_out is not null then r.month end, r.left_out
      order by r.at_s, r.test_table, r.second_id
    ) as place
  from rises r
),
cases as (
  select
    p.month, b.unit, p.infant_id, concat(p.test_table, ' ', p.second_id) as case_id, p.at_s,
    case when p.left_out is null then 'outcome' else 'left_out' end as kind, coalesce(p.left_out, 'cases') as name
  from placed p
  join known_births b on b.infant_id = p.infant_id
  where p.place = 1
  union all
  select b.month, b.unit, b.infant_id, b.infant_id as case_id, b.born_s, 'outcome', 'births'
  from known_births b
  cross join known_until u
  where b.birth_s <= u.all_s
)
select 'rapid_rise' as figure, month, unit, infant_id, case_id, at_s, kind, name
from cases
