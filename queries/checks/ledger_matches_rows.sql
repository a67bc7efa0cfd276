-- title: The rows of each load are where its ledger says
-- grain: one row per load and table whose ledger and stored rows differ
-- reads: ledger, set_aside, versions_births, versions_screens, versions_serum, versions_phototherapy, versions_stays, versions_exchanges, versions_meter_checks, versions_merges
-- choices: Every row that is no duplicate is stored once: as a version, or as a row set aside.
with stored as (
  select 'births' as table_name, load, count(*) as n from versions_births group by load
  union all
  select 'screens' as table_name, load, count(*) as n from versions_screens group by load
  union all
  select 'serum' as table_name, load, count(*) as n from versions_serum group by load
  union all
  select 'phototherapy' as table_name, load, count(*) as n from versions_phototherapy group by load
  union all
  select 'stays' as table_name, load, count(*) as n from versions_stays group by load
  union all
  select 'exchanges' as table_name, load, count(*) as n from versions_exchanges group by load
  union all
  select 'meter_checks' as table_name, load, count(*) as n from versions_meter_checks group by load
  union all
  select 'merges' as table_name, load, count(*) as n from versions_merges group by load
  union all
  select table_name, load, count(*) as n from set_aside group by table_name, load
),
told as (
  select load, table_name, sum(rows_in - duplicate) as rows_told from ledger group by load, table_name
),
kept as (
  select load, table_name, sum(n) as rows_stored from stored group by load, table_name
)
select
  coalesce(t.load, k.load) as load, coalesce(t.table_name, k.table_name) as table_name,
  coalesce(t.rows_told, 0) as rows_told, coalesce(k.rows_stored, 0) as rows_stored
from told t
full join kept k on k.load = t.load and k.table_name = t.table_name
where coalesce(t.rows_told, 0) <> coalesce(k.rows_stored, 0)
order by load, table_name
