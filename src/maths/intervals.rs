//! Intervals on a line: merged, taken away from each other, made from crossings.

/// A stretch of a line from `low` to `high`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Where it starts.
    pub low: f64,
    /// Where it ends; not below `low`.
    pub high: f64,
}

impl Interval {
    /// The stretch from `low` to `high`.
    pub const fn new(low: f64, high: f64) -> Self {
        Self { low, high }
    }

    /// How long it is.
    pub fn length(self) -> f64 {
        self.high - self.low
    }

    /// Its middle.
    pub const fn middle(self) -> f64 {
        self.low.midpoint(self.high)
    }

    /// What both have in common; `None` when that is no stretch.
    pub fn common(self, other: Self) -> Option<Self> {
        let (low, high) = (self.low.max(other.low), self.high.min(other.high));
        (low < high).then_some(Self { low, high })
    }
}

/// Sorts the intervals and joins those that overlap or touch within `slack`.
pub fn merge(intervals: &mut Vec<Interval>, slack: f64) {
    intervals.sort_by(|a, b| a.low.total_cmp(&b.low).then(a.high.total_cmp(&b.high)));
    let mut kept = 0;
    for at in 1..intervals.len() {
        let next = intervals[at];
        if next.low <= intervals[kept].high + slack {
            intervals[kept].high = intervals[kept].high.max(next.high);
        } else {
            kept += 1;
            intervals[kept] = next;
        }
    }
    intervals.truncate(kept + 1);
}

/// What is left of `wholes` without `cuts`; both sorted and disjoint.
pub fn subtract(wholes: &[Interval], cuts: &[Interval]) -> Vec<Interval> {
    let mut left = Vec::with_capacity(wholes.len() + cuts.len());
    let mut first = 0;
    for whole in wholes {
        while first < cuts.len() && cuts[first].high <= whole.low {
            first += 1;
        }
        let mut low = whole.low;
        for cut in cuts[first..].iter().take_while(|cut| cut.low < whole.high) {
            push_stretch(&mut left, low, cut.low);
            low = low.max(cut.high);
        }
        push_stretch(&mut left, low, whole.high);
    }
    left
}

fn push_stretch(list: &mut Vec<Interval>, low: f64, high: f64) {
    if low < high {
        list.push(Interval { low, high });
    }
}

/// The inside of a shape on a line that crosses its boundary at these places (even-odd rule).
pub fn inside(crossings: &mut [f64]) -> Vec<Interval> {
    crossings.sort_by(f64::total_cmp);
    crossings.chunks_exact(2).map(|pair| Interval::new(pair[0], pair[1])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(pairs: &[(f64, f64)]) -> Vec<Interval> {
        pairs.iter().map(|&(low, high)| Interval::new(low, high)).collect()
    }

    #[test]
    fn overlapping_and_touching_intervals_become_one() {
        let mut list = of(&[(5.0, 6.0), (0.0, 1.0), (0.5, 2.0), (2.0, 3.0), (0.1, 0.2)]);
        merge(&mut list, 0.0);
        assert_eq!(list, of(&[(0.0, 3.0), (5.0, 6.0)]));
        merge(&mut list, 2.0);
        assert_eq!(list, of(&[(0.0, 6.0)]));
        let mut none = Vec::new();
        merge(&mut none, 0.0);
        assert!(none.is_empty());
    }

    #[test]
    fn cuts_leave_what_they_do_not_cover() {
        let wholes = of(&[(0.0, 10.0), (20.0, 30.0)]);
        let cuts = of(&[(-5.0, 1.0), (4.0, 5.0), (9.0, 22.0), (30.0, 31.0)]);
        assert_eq!(subtract(&wholes, &cuts), of(&[(1.0, 4.0), (5.0, 9.0), (22.0, 30.0)]));
        assert_eq!(subtract(&wholes, &[]), wholes);
        assert!(subtract(&wholes, &of(&[(-1.0, 40.0)])).is_empty());
    }

    #[test]
    fn crossings_pair_up_in_order() {
        assert_eq!(inside(&mut [7.0, 1.0, 5.0, 2.0]), of(&[(1.0, 2.0), (5.0, 7.0)]));
    }
}
