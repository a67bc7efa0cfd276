-- title: Courses of phototherapy of the babies of a case review
-- grain: one row per course
-- reads: cases_to_review, courses
select c.infant_id, c.course_no, c.unit, c.start_s, c.end_s, c.stop_assumed, c.episodes
from courses c
join (select distinct infant_id from cases_to_review) r on r.infant_id = c.infant_id
order by c.infant_id, c.course_no
