-- title: The last birth of each month
-- grain: one row per month with a birth
-- reads: births, known_until
-- looks back: not at all
-- looks ahead: not at all
-- choices: By time of birth, of the births that are known for readmissions; null where no birth of
--   the month has a time.
select b.month, max(b.born_s) as last_born_s
from births b
cross join known_until u
where coalesce(b.born_s, b.born_day_s) <= u.readmission_s
group by b.month
order by month
