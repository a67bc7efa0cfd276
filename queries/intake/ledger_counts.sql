-- title: What became of this load's rows of a table
-- grain: one row per file and fate
-- reads: fates
select file, fate, count(*) as n
from fates
where load = cast($load as bigint)
group by file, fate
order by file, fate
