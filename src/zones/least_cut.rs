//! The cheapest way to part a network in two: the least cut, by the greatest flow.
//!
//! Source: Ford & Fulkerson 1956, Canad. J. Math. 8:399–404; all shortest paths at once, Dinic 1970,
//! Soviet Math. Dokl. 11:1277–1280.

use std::collections::VecDeque;

/// What is left of a capacity below this is rounding.
const NOTHING: f64 = 1e-9;

/// Nodes with capacities between them.
#[derive(Debug, Clone)]
pub(super) struct Network {
    /// By node: its edges.
    edges: Vec<Vec<usize>>,
    /// By edge: where it leads, and what it still carries; an edge and its way back are neighbours.
    leads: Vec<(usize, f64)>,
}

impl Network {
    pub(super) fn new(nodes: usize) -> Self {
        Self { edges: vec![Vec::new(); nodes], leads: Vec::new() }
    }

    /// Ties two nodes: so much from one to the other, so much back.
    pub(super) fn tie(&mut self, one: usize, other: usize, [there, back]: [f64; 2]) {
        self.edges[one].push(self.leads.len());
        self.leads.push((other, there));
        self.edges[other].push(self.leads.len());
        self.leads.push((one, back));
    }

    /// The nodes on the source's side of the least cut.
    pub(super) fn source_side(mut self, source: usize, sink: usize) -> Vec<bool> {
        loop {
            let levels = self.levels(source);
            if levels[sink].is_none() {
                return levels.iter().map(Option::is_some).collect();
            }
            self.fill(&levels, source, sink);
        }
    }

    /// By node, over how many edges that still carry something it is reached.
    fn levels(&self, source: usize) -> Vec<Option<usize>> {
        let mut levels = vec![None; self.edges.len()];
        levels[source] = Some(0);
        let mut waiting = VecDeque::from([(source, 0)]);
        while let Some((node, level)) = waiting.pop_front() {
            for &edge in &self.edges[node] {
                let (next, left) = self.leads[edge];
                if left > NOTHING && levels[next].is_none() {
                    levels[next] = Some(level + 1);
                    waiting.push_back((next, level + 1));
                }
            }
        }
        levels
    }

    /// Pushes along paths from level to level until none is left.
    fn fill(&mut self, levels: &[Option<usize>], source: usize, sink: usize) {
        let mut tried = vec![0; self.edges.len()];
        let mut path: Vec<usize> = Vec::new();
        loop {
            let node = path.last().map_or(source, |&edge| self.leads[edge].0);
            if node == sink {
                self.push(&path);
                let full = path.iter().position(|&edge| self.leads[edge].1 <= NOTHING);
                path.truncate(full.unwrap_or(0));
            } else if let Some(edge) = self.onward(node, levels, &mut tried) {
                path.push(edge);
            } else if let Some(edge) = path.pop() {
                // A dead end: nobody else need try it.
                tried[self.leads[edge ^ 1].0] += 1;
            } else {
                return;
            }
        }
    }

    /// The next edge of a node that leads one level on; those before were tried.
    fn onward(&self, node: usize, levels: &[Option<usize>], tried: &mut [usize]) -> Option<usize> {
        let wanted = levels[node].map(|level| level + 1);
        let untried = &self.edges[node][tried[node]..];
        let leads_on = |&edge: &usize| {
            let (next, left) = self.leads[edge];
            left > NOTHING && levels[next] == wanted
        };
        let skipped = untried.iter().position(leads_on).unwrap_or(untried.len());
        tried[node] += skipped;
        untried.get(skipped).copied()
    }

    fn push(&mut self, path: &[usize]) {
        let carried = path.iter().map(|&edge| self.leads[edge].1).fold(f64::INFINITY, f64::min);
        for &edge in path {
            self.leads[edge].1 -= carried;
            self.leads[edge ^ 1].1 += carried;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cheapest_of_all_cuts_is_found() {
        // By hand: s–1 3, s–2 2, 1–2 1, 1–t 2, 2–t 4; the least cut is {s, 1} for 2 + 2 + 1.
        let mut network = Network::new(4);
        for (one, other, carries) in
            [(0, 1, 3.5), (0, 2, 2.0), (1, 2, 1.0), (1, 3, 2.0), (2, 3, 4.0)]
        {
            network.tie(one, other, [carries, 0.0]);
        }
        assert_eq!(network.source_side(0, 3), [true, true, false, false]);
    }

    #[test]
    fn every_cut_of_small_networks_costs_as_much_or_more() {
        let mut random = crate::maths::random::Random::new(5);
        for _ in 0..50 {
            let ties: Vec<(usize, usize, f64)> = (0..6)
                .flat_map(|one| (one + 1..6).map(move |other| (one, other)))
                .map(|(one, other)| (one, other, random.uniform()))
                .collect();
            let cost = |side: &dyn Fn(usize) -> bool| -> f64 {
                ties.iter().filter(|(a, b, _)| side(*a) != side(*b)).map(|(_, _, c)| c).sum()
            };
            let mut network = Network::new(6);
            for &(one, other, carries) in &ties {
                network.tie(one, other, [carries; 2]);
            }
            let found = network.source_side(0, 5);
            let least = (0..16_u32)
                .map(|set| cost(&|node| node == 0 || (node < 5 && set >> (node - 1) & 1 == 1)))
                .fold(f64::INFINITY, f64::min);
            assert!((cost(&|node| found[node]) - least).abs() < 1e-9);
        }
    }
}
