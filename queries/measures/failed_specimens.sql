-- title: Failed specimens
-- what: Specimens for total bilirubin collected in the month that gave no number: cancelled,
--   haemolysed, insufficient.
-- grain: one row per specimen, by its last version
-- reads: judged_serum, known_until
-- needs: births, serum, stays
-- kind: proportion
-- outcomes: failed, valid
-- figures: failed_specimens = failed / failed + valid
-- labels: failed_specimens = Failed specimens
-- quantity: share
-- cases: specimens
-- starts with: kept specimens of total bilirubin in serum of the month
-- dropped: after_data_end then by data end
-- choices: The data end is that of the delay after a failed specimen, which needs stays too.
-- left out: preliminary results, with a number or without: still pending
-- clusters: babies
-- better: lower
-- direction: lower is better
-- chart: proportion by month
-- source: local definition
with judged as (
  select
    s.month, s.unit, s.infant_id, s.specimen_id, s.collected_s,
    case
      when s.status = 'preliminary' then 'pending'
      when s.is_failed_attempt then 'failed'
      else 'valid'
    end as name
  from judged_serum s
  cross join known_until u
  where s.is_total_in_serum and s.known_from_s <= u.specimens_s
)
select
  'failed_specimens' as figure, month, unit, infant_id, specimen_id as case_id, collected_s as at_s,
  case name when 'pending' then 'left_out' else 'outcome' end as kind,
  name
from judged
