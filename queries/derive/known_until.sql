-- title: Data end of what needs several tables
-- grain: one row
-- reads: data_ends
-- looks back: not at all
-- looks ahead: not at all
-- choices: The earliest of the tables. What happened later does not exist yet, nor does a baby born
--   later. all_s is that of births, screens, serum, phototherapy and stays.
select
  min(case when table_name in ('births', 'screens', 'serum', 'phototherapy', 'stays') then through_s end) as all_s,
  min(case when table_name in ('births', 'screens', 'serum') then through_s end) as tests_s,
  min(case when table_name in ('births', 'screens', 'phototherapy') then through_s end) as screens_s,
  min(case when table_name in ('births', 'serum') then through_s end) as serum_s,
  min(case when table_name in ('births', 'serum', 'stays') then through_s end) as specimens_s,
  min(case when table_name in ('births', 'serum', 'phototherapy', 'stays') then through_s end) as treatment_s,
  min(case when table_name in ('births', 'phototherapy', 'stays') then through_s end) as readmission_s,
  min(case when table_name in ('births', 'exchanges') then through_s end) as exchanges_s,
  min(case when table_name in ('births', 'stays') then through_s end) as stays_s,
  min(case when table_name in ('screens', 'meter_checks') then through_s end) as meters_s
from data_ends
