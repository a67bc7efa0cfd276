-- title: Codes and words that no table wanted
-- grain: one row per code of the loads asked for
-- reads: unmapped_codes
select system, code, max(display) as display, sum(records) as records
from unmapped_codes
where load >= $first_load
group by system, code
order by records desc, system, code
