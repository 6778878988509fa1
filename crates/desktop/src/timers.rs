//! Timers for steps at the bench: they run on whatever screen is shown, and call until they are answered.

/// A step and how long it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct TimedStep {
    /// What it is, such as 'Rinse in clean water'.
    pub name: String,
    /// How long, in seconds.
    pub seconds: f64,
}

/// Steps gone through one after the other. Each waits for the hand that moves the seed before the next begins.
#[derive(Debug, Clone, PartialEq)]
pub struct Timer {
    steps: Vec<TimedStep>,
    at: usize,
    clock: Clock,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Clock {
    /// Over at this second of the window's clock.
    Until(f64),
    /// Held with so many seconds left.
    Held(f64),
}

/// What a person does with a timer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// Holds it, or lets it go on.
    Hold,
    /// One minute more.
    Longer,
    /// The step is done: the next begins, or the timer ends.
    Next,
    /// No more of it.
    Stop,
}

impl Timer {
    /// The step under way.
    pub fn step(&self) -> &TimedStep {
        &self.steps[self.at]
    }

    /// The step after it.
    pub fn next_step(&self) -> Option<&TimedStep> {
        self.steps.get(self.at + 1)
    }

    /// Which step it is of how many, from 1.
    pub fn place(&self) -> (usize, usize) {
        (self.at + 1, self.steps.len())
    }

    /// Seconds left at a second of the window's clock; below nothing once its time is over.
    pub fn left(&self, now: f64) -> f64 {
        match self.clock {
            Clock::Until(end) => end - now,
            Clock::Held(left) => left,
        }
    }

    /// Whether its time is over.
    pub fn is_over(&self, now: f64) -> bool {
        self.left(now) <= 0.0
    }

    /// Whether it is held.
    pub const fn is_held(&self) -> bool {
        matches!(self.clock, Clock::Held(_))
    }
}

/// All timers that run.
#[derive(Debug, Default)]
pub struct Timers {
    running: Vec<Timer>,
    /// When the bell was last rung, on the window's clock.
    rung: Option<f64>,
}

/// Seconds between two rings, while nobody answers.
const RING_EVERY: f64 = 8.0;

impl Timers {
    /// Begins the first of these steps; nothing for none.
    pub fn start(&mut self, steps: Vec<TimedStep>, now: f64) {
        if let Some(first) = steps.first() {
            let clock = Clock::Until(now + first.seconds);
            self.running.push(Timer {
                steps,
                at: 0,
                clock,
            });
        }
    }

    /// Those that run, the oldest first.
    pub fn running(&self) -> &[Timer] {
        &self.running
    }

    /// Does what a person asked of the timer at this place.
    pub fn answer(&mut self, place: usize, answer: Answer, now: f64) {
        let Some(timer) = self.running.get_mut(place) else {
            return;
        };
        match answer {
            Answer::Hold => {
                timer.clock = match timer.clock {
                    Clock::Until(end) => Clock::Held(end - now),
                    Clock::Held(left) => Clock::Until(now + left),
                };
            }
            Answer::Longer => {
                timer.clock = match timer.clock {
                    Clock::Until(end) => Clock::Until(end.max(now) + 60.0),
                    Clock::Held(left) => Clock::Held(left.max(0.0) + 60.0),
                };
            }
            Answer::Next if timer.at + 1 < timer.steps.len() => {
                timer.at += 1;
                timer.clock = Clock::Until(now + timer.step().seconds);
            }
            Answer::Next | Answer::Stop => {
                self.running.remove(place);
            }
        }
        self.rung = None;
    }

    /// Whether the bell is to be rung now: some time is over, and nobody answered for a while.
    pub fn rings(&mut self, now: f64) -> bool {
        let over = self
            .running
            .iter()
            .any(|timer| !timer.is_held() && timer.is_over(now));
        if !over {
            self.rung = None;
            return false;
        }
        let rings = self.rung.is_none_or(|rung| now - rung >= RING_EVERY);
        if rings {
            self.rung = Some(now);
        }
        rings
    }

    /// Seconds until something shows otherwise: the next second of a clock, or the next ring. Nothing while none runs.
    pub fn next_change(&self, now: f64) -> Option<f64> {
        self.running
            .iter()
            .filter(|timer| !timer.is_held())
            .map(|timer| {
                let left = timer.left(now);
                left - left.floor()
            })
            .map(|part| if part < 0.02 { part + 1.0 } else { part })
            .min_by(f64::total_cmp)
    }
}

/// Seconds left as minutes and seconds: `4:05`, or `+0:10` once it is over by ten seconds.
pub fn clock_words(left: f64) -> String {
    let (sign, seconds) = if left <= -1.0 {
        ("+", (-left).floor())
    } else {
        ("", left.max(0.0).ceil())
    };
    let seconds = seconds as u64;
    format!("{sign}{}:{:02}", seconds / 60, seconds % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two() -> Timers {
        let step = |name: &str, seconds| TimedStep {
            name: name.into(),
            seconds,
        };
        let mut timers = Timers::default();
        timers.start(vec![step("Bleach", 300.0), step("Rinse", 60.0)], 1000.0);
        timers
    }

    #[test]
    fn a_step_waits_for_the_hand_before_the_next() {
        let mut timers = two();
        assert_eq!(clock_words(timers.running()[0].left(1000.4)), "5:00");
        assert!(!timers.rings(1299.0));
        assert!(timers.rings(1300.0) && !timers.rings(1303.0) && timers.rings(1308.0));
        assert_eq!(clock_words(timers.running()[0].left(1310.0)), "+0:10");
        timers.answer(0, Answer::Next, 1310.0);
        assert_eq!(timers.running()[0].step().name, "Rinse");
        assert!(!timers.rings(1311.0));
        assert_eq!(timers.running()[0].left(1311.0), 59.0);
        timers.answer(0, Answer::Next, 1370.0);
        assert!(timers.running().is_empty() && timers.next_change(1370.0).is_none());
    }

    #[test]
    fn held_it_neither_runs_nor_rings() {
        let mut timers = two();
        timers.answer(0, Answer::Hold, 1100.0);
        assert_eq!(timers.running()[0].left(5000.0), 200.0);
        assert!(!timers.rings(5000.0) && timers.next_change(5000.0).is_none());
        timers.answer(0, Answer::Hold, 5000.0);
        assert!(!timers.rings(5199.0) && timers.rings(5200.0));
        timers.answer(0, Answer::Longer, 5210.0);
        assert_eq!(timers.running()[0].left(5210.0), 60.0, "a minute from now");
        timers.answer(0, Answer::Stop, 5211.0);
        assert!(timers.running().is_empty());
    }

    #[test]
    fn the_window_is_drawn_once_a_second_and_not_more() {
        let timers = two();
        assert_eq!(timers.next_change(1000.25), Some(0.75));
        assert_eq!(timers.next_change(1000.0), Some(1.0));
    }
}
