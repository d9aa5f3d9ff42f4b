//! Cache of largest currents and voltage drops: connection points share the nodes upstream.

use std::collections::HashMap;
use std::hash::Hash;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use super::carried::{Added, LargestCurrents};
use site::Node;

/// Everything that a figure of a node depends on, for one network.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct FigureKey {
    pub(super) node: Node,
    /// Number and turn of each other new machine at the node or downstream.
    pub(super) guests: Vec<(usize, usize)>,
    pub(super) machine: usize,
    pub(super) turn: usize,
    pub(super) added: Added,
}

/// Figures of one network; a changed network needs another cache.
#[derive(Debug, Default)]
pub(super) struct FigureCache {
    pub(super) largest: Mutex<HashMap<FigureKey, LargestCurrents>>,
    pub(super) drops: Mutex<HashMap<(FigureKey, [u64; 4]), f64>>,
    computed: AtomicUsize,
}

impl FigureCache {
    /// Number of figures that were calculated.
    pub(super) fn computed(&self) -> usize {
        self.computed.load(Ordering::Relaxed)
    }

    pub(super) fn figure<K: Hash + Eq, V: Copy>(
        &self,
        known: &Mutex<HashMap<K, V>>,
        key: K,
        compute: impl FnOnce() -> V,
    ) -> V {
        let open = || known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(&value) = open().get(&key) {
            return value;
        }
        let value = compute();
        self.computed.fetch_add(1, Ordering::Relaxed);
        open().insert(key, value);
        value
    }
}
