//! What is printed: a figure, its floor, their ratio, the bar, and whether it is met.

use std::time::{Duration, Instant};

/// What a figure is held to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bar {
    /// At most so many times the floor.
    Times(f64),
    /// At least so many times the floor.
    AtLeast(f64),
    /// At most this, whatever the floor is.
    Most(f64),
    /// Told without a bar.
    Told,
}

/// A number with its unit, such as `ms`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount(pub f64, pub &'static str);

impl Amount {
    /// A time in milliseconds.
    pub fn ms(time: Duration) -> Self {
        Self(time.as_secs_f64() * 1e3, "ms")
    }
}

impl std::fmt::Display for Amount {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let places = if self.0 >= 100.0 { 0 } else { 3 };
        write!(f, "{:.places$} {}", self.0, self.1)
    }
}

/// All figures of a run.
#[derive(Debug, Default)]
pub struct Board {
    met: usize,
    missed: Vec<String>,
}

impl Board {
    /// Prints a figure beside its floor.
    pub fn show(&mut self, name: &str, value: Amount, floor: (&str, Amount), bar: Bar) {
        let ratio = value.0 / floor.1.0;
        let (held, words) = match bar {
            Bar::Times(most) => (Some(ratio <= most), format!("at most {most:.1}x")),
            Bar::AtLeast(least) => (Some(ratio >= least), format!("at least {least:.1}x")),
            Bar::Most(most) => (
                Some(value.0 <= most),
                format!("at most {}", Amount(most, value.1)),
            ),
            Bar::Told => (None, "none".to_owned()),
        };
        let verdict = match held {
            Some(true) => "met",
            Some(false) => "MISSED",
            None => "told",
        };
        println!(
            "{name}\n    {value}; {}: {}; ratio {ratio:.2}x; bar: {words}; {verdict}",
            floor.0, floor.1
        );
        match held {
            Some(true) => self.met += 1,
            Some(false) => self.missed.push(name.to_owned()),
            None => {}
        }
    }

    /// Takes over the figures that another run printed.
    pub fn take_over(&mut self, printed: &str) {
        print!("{printed}");
        let mut name = "";
        for line in printed.lines() {
            if !line.starts_with(' ') {
                name = line;
            } else if line.ends_with("; met") {
                self.met += 1;
            } else if line.ends_with("; MISSED") {
                self.missed.push(name.to_owned());
            }
        }
    }

    /// Prints how busy the machine is: figures of a busy one mean little by themselves.
    pub fn load(&self, when: &str) {
        let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
        println!("machine load {when}: {}", load.trim());
    }

    /// Prints the sum of it.
    pub fn close(&self) {
        println!("{} met, {} missed", self.met, self.missed.len());
        for name in &self.missed {
            println!("    missed: {name}");
        }
    }

    /// How many figures were held to a bar.
    pub fn held(&self) -> usize {
        self.met + self.missed.len()
    }
}

/// The value in the middle.
pub fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

/// How long something takes.
pub fn timed<T>(work: impl FnOnce() -> T) -> (Duration, T) {
    let begun = Instant::now();
    let done = work();
    (begun.elapsed(), done)
}

/// Medians of several kinds of work done in turn, so that what else the machine does falls on all
/// of them alike. The first tenth only warms up.
pub fn in_turn<const N: usize>(
    rounds: usize,
    mut work: impl FnMut(usize, usize) -> Duration,
) -> [Duration; N] {
    let mut times: [Vec<Duration>; N] = std::array::from_fn(|_| Vec::with_capacity(rounds));
    let warm = rounds / 10;
    for round in 0..rounds + warm {
        for (kind, times) in times.iter_mut().enumerate() {
            let took = work(kind, round);
            if round >= warm {
                times.push(took);
            }
        }
    }
    times.map(median)
}

#[test]
fn figures_of_another_run_are_counted_as_they_were() {
    let mut board = Board::default();
    board.take_over("one\n    1 ms; bar: at most 2 ms; met\ntwo\n    3 ms; MISSED\nthree\n    4 ms; told\n");
    assert_eq!((board.met, board.missed), (1, vec!["two".to_owned()]));
}
