//! The cheapest pairing of rows and columns: as many pairs as can be, and of those the least cost.

use crate::amount::{real, whole};
use crate::flow::Flow;
use crate::unfit::Unfit;

/// A pairing.
#[derive(Debug, Clone, PartialEq)]
pub struct Assignment {
    /// Row and column of each pair, by ascending row.
    pub pairs: Vec<(usize, usize)>,
    /// The sum of their costs.
    pub cost: f64,
}

/// Pairs as many rows with columns as can be, at least cost; `None` marks a pair that must not be.
///
/// # Errors
/// A cost that is no number or below 0.
pub fn assignment(cost: &[Vec<Option<f64>>]) -> Result<Assignment, Unfit> {
    let (rows, columns) = (cost.len(), cost.iter().map(Vec::len).max().unwrap_or_default());
    let (source, sink) = (rows + columns, rows + columns + 1);
    let mut flow = Flow::new(rows + columns + 2);
    let mut edges = Vec::new();
    for (row, costs) in cost.iter().enumerate() {
        flow.edge(source, row, 1, 0);
        for (column, cost) in costs.iter().enumerate() {
            if let Some(cost) = cost {
                edges.push((row, column, flow.edge(row, rows + column, 1, whole(*cost, "a cost")?)));
            }
        }
    }
    for column in 0..columns {
        flow.edge(rows + column, sink, 1, 0);
    }
    let (_, total) = flow.send(source, sink);
    let pairs = edges
        .into_iter()
        .filter(|(.., edge)| flow.on(*edge) > 0)
        .map(|(row, column, _)| (row, column))
        .collect();
    Ok(Assignment { pairs, cost: real(total) })
}
