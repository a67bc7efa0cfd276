-- title: What the checks of the records found by the newest load
-- grain: one row per finding
-- reads: findings
select check_name, concerns as about, month, found, n
from findings
order by place
