-- title: What readers learned in earlier loads
-- grain: one row per format and key: the last
-- reads: reader_memory
with numbered as (
  select format, key, value, row_number() over (partition by format, key order by load desc) as place
  from reader_memory
)
select format, key, value from numbered
where place = 1
order by format, key
