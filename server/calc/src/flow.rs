//! Least-cost flow in a network: successive shortest paths, Dijkstra on reduced costs. Whole rooms and costs, so it is exact.
//!
//! Own code: the general graph crates would bring a matrix or a map for each call, and no residual network to read a cut from.

use crate::sets::pick;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

const FAR: i64 = i64::MAX / 4;

#[derive(Debug, Clone, Copy)]
struct Edge {
    to: usize,
    room: i64,
    cost: i64,
}

/// A network; the edge back of edge `e` is `e ^ 1`.
#[derive(Debug, Clone)]
pub(crate) struct Flow {
    edges: Vec<Edge>,
    of: Vec<Vec<usize>>,
    potential: Vec<i64>,
    looks: usize,
}

impl Flow {
    pub(crate) fn new(nodes: usize) -> Self {
        Self {
            edges: Vec::new(),
            of: vec![Vec::new(); nodes],
            potential: vec![0; nodes],
            looks: 0,
        }
    }

    /// Adds an edge of a cost that is not below 0; gives its number.
    pub(crate) fn edge(&mut self, from: usize, to: usize, room: i64, cost: i64) -> usize {
        let number = self.edges.len();
        self.edges.push(Edge { to, room, cost });
        self.edges.push(Edge {
            to: from,
            room: 0,
            cost: -cost,
        });
        for (node, edge) in [(from, number), (to, number + 1)] {
            if let Some(list) = self.of.get_mut(node) {
                list.push(edge);
            }
        }
        number
    }

    /// What flows on an edge.
    pub(crate) fn on(&self, edge: usize) -> i64 {
        self.edges.get(edge ^ 1).map_or(0, |back| back.room)
    }

    /// Edges looked at so far.
    pub(crate) const fn looks(&self) -> usize {
        self.looks
    }

    /// Sends as much as can be, at least cost; gives the amount and its cost.
    pub(crate) fn send(&mut self, source: usize, sink: usize) -> (i64, i64) {
        let (mut sent, mut cost) = (0, 0);
        while let Some((amount, each)) = self.augment(source, sink) {
            sent += amount;
            cost += amount * each;
        }
        (sent, cost)
    }

    /// One cheapest path more.
    fn augment(&mut self, source: usize, sink: usize) -> Option<(i64, i64)> {
        let nodes = self.of.len();
        let mut far = vec![FAR; nodes];
        let mut by: Vec<Option<usize>> = vec![None; nodes];
        let mut queue = BinaryHeap::from([(Reverse(0), source)]);
        *far.get_mut(source)? = 0;
        while let Some((Reverse(distance), node)) = queue.pop() {
            if distance > pick(&far, node) {
                continue;
            }
            if node == sink {
                // No nearer way to the sink will come; what lies farther keeps its distance to it.
                break;
            }
            for number in self.of.get(node)? {
                self.looks += 1;
                let Some(edge) = self.edges.get(*number) else { continue };
                if edge.room == 0 {
                    continue;
                }
                let next = distance + edge.cost + pick(&self.potential, node) - pick(&self.potential, edge.to);
                if let Some(known) = far.get_mut(edge.to).filter(|known| next < **known) {
                    *known = next;
                    *by.get_mut(edge.to)? = Some(*number);
                    queue.push((Reverse(next), edge.to));
                }
            }
        }
        let reached = pick(&far, sink);
        if reached >= FAR {
            return None;
        }
        for (potential, far) in self.potential.iter_mut().zip(&far) {
            *potential += (*far).min(reached);
        }
        let mut path = Vec::new();
        let mut node = sink;
        while node != source {
            let number = pick(&by, node)?;
            path.push(number);
            node = self.edges.get(number ^ 1)?.to;
        }
        let amount = path.iter().filter_map(|n| self.edges.get(*n)).map(|edge| edge.room).min()?;
        for number in &path {
            self.edges.get_mut(*number)?.room -= amount;
            self.edges.get_mut(number ^ 1)?.room += amount;
        }
        Some((amount, pick(&self.potential, sink) - pick(&self.potential, source)))
    }

    /// The nodes that can still be reached from one: the source's side of a least cut when nothing more can be sent.
    pub(crate) fn side(&self, from: usize) -> Vec<bool> {
        let mut seen = vec![false; self.of.len()];
        let mut open = vec![from];
        while let Some(node) = open.pop() {
            let Some(mark) = seen.get_mut(node) else { continue };
            if std::mem::replace(mark, true) {
                continue;
            }
            let edges = self.of.get(node).into_iter().flatten().filter_map(|n| self.edges.get(*n));
            open.extend(edges.filter(|edge| edge.room > 0).map(|edge| edge.to));
        }
        seen
    }
}
