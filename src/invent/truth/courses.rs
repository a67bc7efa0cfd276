//! Episodes of phototherapy joined to courses.

use super::stays::Stays;
use crate::invent::history::History;

/// A course: `[start, end)`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Course {
    pub(super) start_s: i64,
    /// None while it runs, or when nothing tells its end.
    pub(super) end_s: Option<i64>,
    /// The end is only that of the stay.
    pub(super) stop_assumed: bool,
    pub(super) unit: usize,
}

impl Course {
    /// Whether a moment lies in the course.
    pub(super) fn covers(&self, at_s: i64) -> bool {
        self.shadows(at_s, 0)
    }

    /// Whether a moment lies in the course or less than so long after it.
    pub(super) fn shadows(&self, at_s: i64, after_s: i64) -> bool {
        self.start_s <= at_s && self.end_s.is_none_or(|end_s| at_s < end_s + after_s)
    }
}

/// The courses seen at data end, in order of time.
pub(super) fn of(
    history: &History,
    stays: &Stays<'_>,
    row: impl Fn(usize) -> u64,
    data_end_s: i64,
    join_s: i64,
) -> Vec<Course> {
    let mut parts: Vec<(u64, Course)> = Vec::new();
    for (place, episode) in history.episodes.iter().enumerate() {
        if episode.started_s >= data_end_s {
            continue;
        }
        let stopped_s = episode.stopped_s.filter(|at_s| *at_s < data_end_s);
        let assumed_s = stays.containing(episode.started_s).and_then(|chain| chain.discharged_s);
        let course = Course {
            start_s: episode.started_s,
            end_s: stopped_s.or(assumed_s),
            stop_assumed: stopped_s.is_none(),
            unit: episode.unit,
        };
        parts.push((row(place), course));
    }
    parts.sort_by_key(|(id, part)| (part.start_s, *id));
    let mut courses: Vec<Course> = Vec::new();
    for (_, part) in parts {
        match courses.last_mut() {
            Some(course) if course.shadows_or_meets(part.start_s, join_s) => course.extend(part),
            _ => courses.push(part),
        }
    }
    courses
}

impl Course {
    fn shadows_or_meets(&self, start_s: i64, join_s: i64) -> bool {
        self.end_s.is_none_or(|end_s| start_s <= end_s + join_s)
    }

    fn extend(&mut self, part: Course) {
        match (self.end_s, part.end_s) {
            (Some(end_s), Some(part_end_s)) if part_end_s > end_s => {
                self.end_s = Some(part_end_s);
                self.stop_assumed = part.stop_assumed;
            }
            (Some(end_s), Some(part_end_s)) if part_end_s == end_s => {
                self.stop_assumed &= part.stop_assumed;
            }
            (Some(_), Some(_)) | (None, _) => {}
            (Some(_), None) => {
                self.end_s = None;
                self.stop_assumed = part.stop_assumed;
            }
        }
    }
}
