-- title: Exchange transfusions of the babies of a case review
-- grain: one row per exchange transfusion
-- reads: cases_to_review, exchanges
select e.infant_id, e.exchange_id, coalesce(e.unit, 'unknown') as unit, e.performed_s
from exchanges e
join (select distinct infant_id from cases_to_review) r on r.infant_id = e.infant_id
order by e.infant_id, e.performed_s, e.exchange_id
