-- title: Versions of the results of serum that have several
-- grain: one row per version of such a result
-- reads: versions_serum
-- looks back: over all loads
-- looks ahead: not at all
-- choices: A result that is not listed has one version, the one that stands. specimen_id is the id of
--   the result (intake/results.rs): total and direct of one tube are two.
with several as (
  select row_id
  from versions_serum
  group by row_id
  having count(*) > 1
)
select v.row_id as specimen_id, v.status, v.resulted_s, v.compare_micro
from several s
join versions_serum v on v.row_id = s.row_id
order by specimen_id, v.status, v.resulted_s, v.compare_micro
