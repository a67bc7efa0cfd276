-- title: The babies of a case review
-- grain: one row per baby
-- reads: cases_to_review, births
-- choices: cases_to_review are the rows of review_cases.sql.
select
  b.infant_id, coalesce(b.unit, 'unknown') as unit, b.born_s, b.born_day_s, b.gestation_days, b.gestation_precision,
  b.birth_weight_g, b.feeding, b.risk_factors
from births b
join (select distinct infant_id from cases_to_review) c on c.infant_id = b.infant_id
order by b.infant_id
