//! Phototherapy courses.

use super::facts::Episode;
use super::rules::{Rules, hours};
use super::stays::{self, Chain};

/// "Phototherapy episodes of one baby that overlap or lie <= 6 h apart are one course."
#[derive(Clone, Debug)]
pub struct Course {
    /// Start of the first episode.
    pub start: i64,
    /// End; `None` covers every moment after the start.
    pub end: Option<i64>,
    /// The end is only the end of a stay, not a recorded stop.
    pub stop_assumed: bool,
    /// "Course unit = first episode's" (choice 9).
    pub unit: String,
}

impl Course {
    /// "A course is [start, end)."
    pub fn covers(&self, moment: i64) -> bool {
        stays::covers(self.start, self.end, moment)
    }

    /// "In [course start, course end + 24 h)."
    pub fn covers_or_is_recent(&self, moment: i64, rules: &Rules) -> bool {
        let end = self.end.map(|end| end + hours(rules.at(moment).after_phototherapy_h));
        stays::covers(self.start, end, moment)
    }

    /// The course as known at data end: "one that starts after D is dropped, one that ends
    /// after D counts as having no end" (choice 3).
    pub fn at(&self, data_end: i64) -> Option<Self> {
        if self.start > data_end {
            return None;
        }
        let mut course = self.clone();
        if course.end.is_some_and(|end| end > data_end) {
            course.end = None;
            course.stop_assumed = false;
        }
        Some(course)
    }
}

/// "Order episodes by (started_at, episode_id). An episode joins when its start <= (latest end
/// so far) + 6 h"; one without an end "swallows everything after" (choice 9).
pub fn courses(episodes: &[Episode], chains: &[Chain], rules: &Rules) -> Vec<Course> {
    let mut ordered = episodes.to_vec();
    ordered.sort_by(|a, b| a.start.cmp(&b.start).then_with(|| a.id.cmp(&b.id)));
    let mut courses: Vec<Course> = Vec::new();
    for episode in ordered {
        let (end, assumed) = match episode.stop {
            Some(stop) => (Some(stop), false),
            None => {
                let end = assumed_end(episode.start, chains);
                (end, end.is_some())
            }
        };
        let next = Course {
            start: episode.start,
            end,
            stop_assumed: assumed,
            unit: episode.unit,
        };
        match courses.last_mut() {
            Some(course) if joins(course, &next, rules) => extend(course, &next),
            _ => courses.push(next),
        }
    }
    courses
}

/// "An episode joins when its start <= (latest end so far) + 6 h"; no end swallows all.
fn joins(course: &Course, next: &Course, rules: &Rules) -> bool {
    course
        .end
        .is_none_or(|end| next.start <= end + hours(rules.course_join_h))
}

/// "`stop_assumed` when the course end is only an assumed one (a recorded stop at the same
/// second wins)" (choice 9).
fn extend(course: &mut Course, next: &Course) {
    let (Some(end), Some(next_end)) = (course.end, next.end) else {
        course.end = None;
        course.stop_assumed = false;
        return;
    };
    if next_end > end {
        course.end = Some(next_end);
        course.stop_assumed = next.stop_assumed;
    } else if next_end == end {
        course.stop_assumed = course.stop_assumed && next.stop_assumed;
    }
}

/// "No stop: its end is the end of the earliest chain that contains its start ([start, end));
/// if none, or that chain is still in (without any discharge; here without regard to D), it has
/// no end" (choice 9).
fn assumed_end(start: i64, chains: &[Chain]) -> Option<i64> {
    let containing = chains
        .iter()
        .filter(|chain| stays::covers(chain.start(), chain.end(), start));
    stays::earliest(containing)?.end()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn episode(id: &str, start_h: i64, stop_h: Option<i64>) -> Episode {
        Episode {
            id: id.to_string(),
            start: hours(start_h),
            stop: stop_h.map(hours),
            unit: id.to_string(),
        }
    }

    #[test]
    fn six_hours_join_and_one_second_more_does_not() {
        let rules = Rules::default();
        let mut given = [episode("a", 0, Some(10)), episode("b", 16, Some(20))];
        let joined = courses(&given, &[], &rules);
        assert_eq!(joined.len(), 1);
        assert_eq!((joined[0].start, joined[0].end), (0, Some(hours(20))));
        given[1].start += 1;
        assert_eq!(courses(&given, &[], &rules).len(), 2);
    }

    #[test]
    fn an_open_episode_outside_any_stay_swallows_what_follows() {
        let given = [episode("a", 0, None), episode("b", 100, Some(110))];
        let all = courses(&given, &[], &Rules::default());
        assert_eq!(all.len(), 1);
        assert_eq!((all[0].end, all[0].stop_assumed), (None, false));
        assert!(all[0].covers(hours(1000)));
    }
}
