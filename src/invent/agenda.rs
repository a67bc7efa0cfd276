//! What is planned for a baby, in order of time.

/// Something that will be done, or that will happen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Task {
    /// A reading by habit, with more to follow.
    HabitScreen,
    /// A reading for a reason of its own: concern, before going home, a visit.
    SingleScreen,
    /// The reading before going home, unless there was one just before.
    LastScreen,
    /// Blood; the attempt counts from 0.
    Draw(Purpose, u32),
    /// A result reaches the ward: the place of the specimen in the history.
    Result(usize, Purpose),
    /// The repeat after a value near the line, by blood or by meter.
    Repeat {
        /// By blood.
        blood: bool,
    },
    /// Lamps on.
    StartLight,
    /// Lamps out, for the course with this number.
    StopLight(u32),
    /// The lamps stand ready after a move.
    ResumeLight,
    /// An exchange transfusion.
    Exchange,
    /// Discharge home.
    GoHome,
    /// Leaves for another unit.
    Move,
    /// Arrives there.
    Arrive,
    /// Leaves the network.
    LeaveNetwork,
    /// Dies.
    Die,
    /// Comes back with jaundice.
    ComeBackJaundiced,
    /// Comes back for another reason.
    ComeBackOtherwise,
}

/// Why blood is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Purpose {
    /// A due screen, or yellow on the first day.
    Referral,
    /// A repeat near the line.
    NearLine,
    /// A check in the course with this number.
    Check(u32),
    /// After a course.
    Rebound,
    /// By habit in preterm babies; so many more to follow.
    Habit(u32),
    /// On coming back.
    Admission,
}

/// The plan.
#[derive(Debug, Default)]
pub(crate) struct Agenda {
    planned: Vec<(i64, u32, Task)>,
    next: u32,
}

impl Agenda {
    /// Plans a task; what was planned first goes first at the same moment.
    pub(crate) fn plan(&mut self, at_s: i64, task: Task) {
        self.planned.push((at_s, self.next, task));
        self.next += 1;
    }

    /// Takes the earliest task.
    pub(crate) fn take(&mut self) -> Option<(i64, Task)> {
        let earliest = (0..self.planned.len()).min_by_key(|place| {
            let (at_s, order, _) = self.planned[*place];
            (at_s, order)
        })?;
        let (at_s, _, task) = self.planned.swap_remove(earliest);
        Some((at_s, task))
    }

    /// Whether a task of some kind is planned.
    pub(crate) fn any(&self, wanted: impl Fn(&Task) -> bool) -> bool {
        self.planned.iter().any(|(_, _, task)| wanted(task))
    }

    /// Drops tasks of some kind.
    pub(crate) fn drop(&mut self, unwanted: impl Fn(&Task) -> bool) {
        self.planned.retain(|(_, _, task)| !unwanted(task));
    }
}
