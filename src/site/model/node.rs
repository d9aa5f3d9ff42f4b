//! Places in the tree supply → boards → circuits → machines, as indices into the site's lists.

/// A node that carries current: the supply, a board or a circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Node {
    /// The supply.
    Supply,
    /// A board, by its index.
    Board(usize),
    /// A circuit, by its index.
    Circuit(usize),
}

/// What a meter measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Measured {
    /// A node of the tree.
    Node(Node),
    /// A machine, by its index.
    Machine(usize),
}

impl Measured {
    /// The supply.
    pub const SUPPLY: Measured = Measured::Node(Node::Supply);
}
