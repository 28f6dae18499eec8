//! Waypoints in files of a size that a receiver takes, rows kept together where they fit.

use crate::layout::{Stake, StakeKind};

/// One file of waypoints.
#[derive(Debug, Clone, PartialEq)]
pub struct WaypointFile<'a> {
    /// Its name, such as `stakeout-01.gpx`.
    pub name: String,
    /// Its stakes: check points first.
    pub stakes: Vec<&'a Stake>,
}

impl WaypointFile<'_> {
    /// Its first and last row.
    pub fn rows(&self) -> Option<[u32; 2]> {
        let mut rows = self.stakes.iter().filter_map(|stake| stake.row);
        let first = rows.next()?;
        Some([first, rows.next_back().unwrap_or(first)])
    }
}

/// The stakes in files of at most so many points (3 at least), each with the check points first.
///
/// A row that fits into a file is not cut; control points come first in the first file.
pub fn waypoint_files(stakes: &[Stake], most: usize) -> Vec<WaypointFile<'_>> {
    let is_check = |stake: &&Stake| stake.kind == StakeKind::Check;
    let checks: Vec<&Stake> = stakes.iter().filter(is_check).collect();
    let others: Vec<&Stake> = stakes.iter().filter(|stake| !is_check(stake)).collect();
    let room = most.max(checks.len() + 1) - checks.len();
    let mut files: Vec<Vec<&Stake>> = vec![Vec::new()];
    for row in others.chunk_by(|one, next| one.row == next.row) {
        let left = room - files.last().map_or(0, Vec::len);
        if row.len() > left && row.len() <= room {
            files.push(Vec::new());
        }
        for stake in row {
            if files.last().is_none_or(|file| file.len() == room) {
                files.push(Vec::new());
            }
            if let Some(file) = files.last_mut() {
                file.push(stake);
            }
        }
    }
    let digits = files.len().to_string().len().max(2);
    let named = files.into_iter().enumerate().map(|(index, file)| WaypointFile {
        name: format!("stakeout-{:0digits$}.gpx", index + 1),
        stakes: checks.iter().copied().chain(file).collect(),
    });
    named.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::RowPoint;

    fn stakes(rows: &[(u32, usize)]) -> Vec<Stake> {
        let at = RowPoint { along_m: 0.0, across_m: 0.0 };
        let stake = |kind, row, name: String| Stake { kind, row, id: name.clone(), name, at };
        let checks = (1..3).map(|n| stake(StakeKind::Check, None, format!("CHK{n}")));
        let vines = rows.iter().flat_map(|&(row, vines)| {
            (0..vines).map(move |v| stake(StakeKind::Vine, Some(row), format!("{row:03}A{v:02}")))
        });
        checks.chain(vines).collect()
    }

    #[track_caller]
    fn check(rows: &[(u32, usize)], most: usize, expected: &[(&str, usize, [u32; 2])]) {
        let stakes = stakes(rows);
        let files = waypoint_files(&stakes, most);
        let told: Vec<_> = files
            .iter()
            .map(|file| (file.name.as_str(), file.stakes.len(), file.rows().unwrap_or_default()))
            .collect();
        assert_eq!(told, expected);
        for file in &files {
            let first: Vec<&str> = file.stakes[..2].iter().map(|s| s.name.as_str()).collect();
            assert_eq!(first, ["CHK1", "CHK2"]);
        }
        let others: usize = files.iter().map(|file| file.stakes.len() - 2).sum();
        assert_eq!(others, stakes.len() - 2);
    }

    #[test]
    fn rows_stay_together_where_they_fit() {
        let name = |n: usize| ["stakeout-01.gpx", "stakeout-02.gpx", "stakeout-03.gpx"][n];
        check(&[(1, 4), (2, 4), (3, 4)], 10, &[(name(0), 10, [1, 2]), (name(1), 6, [3, 3])]);
        check(&[(1, 5), (2, 5), (3, 3)], 10, &[(name(0), 7, [1, 1]), (name(1), 10, [2, 3])]);
        // A row longer than a file is cut, and goes on in the file that has begun.
        check(
            &[(1, 3), (2, 12), (3, 2)],
            10,
            &[(name(0), 10, [1, 2]), (name(1), 9, [2, 2]), (name(2), 4, [3, 3])],
        );
        check(&[], 10, &[(name(0), 2, [0, 0])]);
    }

    #[test]
    fn a_hundred_files_have_three_digits() {
        let stakes = stakes(&[(1, 150)]);
        let files = waypoint_files(&stakes, 3);
        assert_eq!(files.len(), 150);
        assert_eq!(files[0].name, "stakeout-001.gpx");
        assert_eq!(waypoint_files(&stakes, 0).len(), 150, "less than 3 counts as 3");
    }
}
