//! Phototherapy courses.

use super::facts::Episode;
use super::rules::{Rules, hours};
use super::stays::{self, Chain};

/// "Phototherapy episodes of one baby that overlap or lie <= 6 h apart are one course."
#[derive(Clone, Debug)]
pub struct Course {
    /// Start of the first episode.
    pub start: i64,
    /// End; `None` as long as it is still to come at data end.
    pub end: Option<i64>,
    /// The end is only an assumed one, not a recorded stop.
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

/// "Phototherapy episodes of one baby that overlap or lie <= 6 h apart are one course."
pub fn courses(episodes: &[Episode], chains: &[Chain], rules: &Rules) -> Vec<Course> {
    let mut ordered = episodes.to_vec();
    ordered.sort_by(|a, b| a.start.cmp(&b.start).then_with(|| a.id.cmp(&b.id)));
    let mut courses: Vec<Course> = Vec::new();
    for episode in ordered {
        let end = episode
            .stop
            .unwrap_or_else(|| assumed_end(episode.start, chains, rules));
        let next = Course {
            start: episode.start,
            end: Some(end),
            stop_assumed: episode.stop.is_none(),
            unit: episode.unit,
        };
        match courses.last_mut() {
            Some(course) if course.end.is_none_or(|end| joins(end, next.start, rules)) => extend(course, &next),
            _ => courses.push(next),
        }
    }
    courses
}

/// "An episode joins when its start <= (latest end so far) + 6 h" (choice 9).
fn joins(end: i64, start: i64, rules: &Rules) -> bool {
    start <= end + hours(rules.course_join_h)
}

/// A stop is assumed where no recorded stop falls on the end (choice 9).
fn extend(course: &mut Course, next: &Course) {
    if next.end > course.end {
        course.end = next.end;
        course.stop_assumed = next.stop_assumed;
    } else if next.end == course.end {
        course.stop_assumed = course.stop_assumed && next.stop_assumed;
    }
}

/// "An episode without a stop ends with the chain of stays that contains its start; where that is
/// not known, or later, 72 h after its start."
fn assumed_end(start: i64, chains: &[Chain], rules: &Rules) -> i64 {
    let latest = start + hours(rules.assumed_stop_h);
    let containing = chains
        .iter()
        .filter(|chain| stays::covers(chain.start(), chain.end(), start));
    let end = stays::earliest(containing).and_then(Chain::end);
    end.map_or(latest, |end| end.min(latest))
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
    fn an_episode_without_a_stop_ends_after_72_hours_outside_any_stay() {
        let given = [episode("a", 0, None), episode("b", 100, Some(110))];
        let all = courses(&given, &[], &Rules::default());
        assert_eq!(all.len(), 2);
        assert_eq!((all[0].end, all[0].stop_assumed), (Some(hours(72)), true));
        assert!(!all[0].covers(hours(72)));
    }
}
