-- title: Which line a baby's risk chooses, by version of the protocol
-- grain: one row per live birth and version of the protocol
-- order: month, infant_id, version
-- kept: while deriving
-- reads: births, protocol_limits, protocol_codes
-- looks back: not at all
-- looks ahead: not at all
-- choices: A baby with any of the protocol's risk factors has the line for risk, where the standard has
--   one, one known to have none of them the line without. A baby whose risk factors are not recorded
--   is judged as the protocol says (unknown_risk): as either, or left_out, and then has no line
--   where lines depend on risk.
select
  b.infant_id, l.version, max(b.risk_factors) is null as is_unknown,
  case
    when max(c.code) is not null then 'present'
    when max(b.risk_factors) is null then max(l.unknown_line_risk)
    else 'absent'
  end as risk,
  max(b.month) as month
from (select infant_id, nullif(risk_factors, '') as risk_factors, local_month as month from births) b
cross join protocol_limits l
left join protocol_codes c
  on c.version = l.version and c.purpose = 'line_risk_factor'
  and strpos(concat(';', b.risk_factors, ';'), concat(';', c.code, ';')) > 0
group by b.infant_id, l.version
