//! Conductances between nodes, solved once by a direct factorisation for as many right-hand sides as are wanted.

use crate::numeric::sparse::{self, NoFactor, Symmetric};
use faer::sparse::SparseColMat;
use nalgebra::DMatrix;

/// Nodes, ties between them, and ties to a temperature of zero.
#[derive(Debug, Clone, Default)]
pub struct Network {
    ground: Vec<f64>,
    ties: Vec<(usize, usize, f64)>,
}

/// Why a network has no solution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unsolvable {
    /// Some nodes are tied to nothing.
    #[error("a part of the plate is tied to nothing")]
    Floating,
    /// Too many nodes for the machine.
    #[error("the grid is too large")]
    TooLarge,
}

impl From<NoFactor> for Unsolvable {
    fn from(reason: NoFactor) -> Self {
        match reason {
            NoFactor::TooLarge => Self::TooLarge,
            NoFactor::NotPositive => Self::Floating,
        }
    }
}

impl Network {
    /// A new node.
    pub fn node(&mut self) -> usize {
        self.ground.push(0.0);
        self.ground.len() - 1
    }

    /// How many nodes.
    pub fn nodes(&self) -> usize {
        self.ground.len()
    }

    /// Ties two nodes by a conductance, W/K. One that is part of an element may be negative.
    pub fn tie(&mut self, one: usize, other: usize, conductance_w_k: f64) {
        if conductance_w_k != 0.0 && one != other {
            let (low, high) = (one.min(other), one.max(other));
            self.ties.push((high, low, conductance_w_k));
        }
    }

    /// Ties a node to the temperature of zero.
    pub fn ground(&mut self, node: usize, conductance_w_k: f64) {
        if let Some(sum) = self.ground.get_mut(node) {
            *sum += conductance_w_k;
        }
    }

    /// Nodes that hang together, by number of their group; groups in the order of their first node.
    pub fn groups(&self) -> Vec<usize> {
        let mut parent: Vec<usize> = (0..self.nodes()).collect();
        for (high, low, _) in &self.ties {
            let (one, other) = (root(&mut parent, *high), root(&mut parent, *low));
            if let Some(place) = parent.get_mut(one.max(other)) {
                *place = one.min(other);
            }
        }
        (0..self.nodes())
            .map(|node| root(&mut parent, node))
            .collect()
    }

    /// What flows out of each node, for temperatures of all.
    fn equations(&self) -> Symmetric {
        let mut sums = self.ground.clone();
        for (high, low, conductance) in &self.ties {
            for node in [high, low] {
                if let Some(sum) = sums.get_mut(*node) {
                    *sum += conductance;
                }
            }
        }
        let mut equations = Symmetric::new(self.nodes());
        for (node, sum) in sums.into_iter().enumerate() {
            equations.add(node, node, sum);
        }
        for (high, low, conductance) in &self.ties {
            equations.add(*high, *low, -conductance);
        }
        equations
    }

    /// The lower half of the matrix of the network: what flows out of each node, for temperatures of all.
    ///
    /// # Errors
    /// [`Unsolvable::TooLarge`].
    pub fn matrix(&self) -> Result<SparseColMat<usize, f64>, Unsolvable> {
        Ok(self.equations().matrix()?)
    }

    /// Factorises the matrix.
    ///
    /// # Errors
    /// When a group of nodes is tied to nothing, or memory does not do.
    pub fn factorise(&self) -> Result<Factor, Unsolvable> {
        Ok(Factor(self.equations().factorise()?))
    }
}

/// The node that stands for the group of another; ways to it are shortened.
fn root(parent: &mut [usize], mut node: usize) -> usize {
    while let Some(&up) = parent.get(node) {
        if up == node {
            break;
        }
        let above = parent.get(up).copied().unwrap_or(up);
        if let Some(place) = parent.get_mut(node) {
            *place = above;
        }
        node = above;
    }
    node
}

/// A factorised network.
#[derive(Debug)]
pub struct Factor(sparse::Factor);

impl Factor {
    /// Temperatures for heat put into nodes: each load is a list of nodes with W.
    pub fn solve(&self, loads: &[Vec<(usize, f64)>]) -> Vec<Vec<f64>> {
        let nodes = self.0.unknowns();
        let mut sides = DMatrix::zeros(nodes, loads.len());
        for (number, load) in loads.iter().enumerate() {
            for (node, heat_w) in load {
                if let Some(side) = sides.get_mut((*node, number)) {
                    *side += heat_w;
                }
            }
        }
        let solved = self.0.solve(&sides);
        let columns = solved.column_iter();
        columns.map(|one| one.iter().copied().collect()).collect()
    }
}
