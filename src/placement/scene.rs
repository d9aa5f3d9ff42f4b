//! The installation with the currents of its nodes, ready for new machines.

use super::connection_point::ConnectionPoint;
use super::effect::EffectAtSupply;
use super::guest::Guest;
use super::load::NewLoad;
use super::memo::FigureCache;
use super::network::Network;
use super::own_checks::OwnParts;
use super::placement_error::PlacementError;
use super::settings::PlacementSettings;
use balance::Standing;
use metering::Logs;
use site::{Connection, Node, Site};

/// The installation with the currents of its nodes, ready for new machines.
pub(super) struct Scene<'s> {
    pub(super) site: &'s Site,
    pub(super) standing: Standing,
    pub(super) network: Network,
    pub(super) observer: EffectAtSupply,
    pub(super) memo: FigureCache,
    pub(super) settings: PlacementSettings,
}

impl<'s> Scene<'s> {
    pub(super) fn new(
        site: &'s Site,
        logs: &Logs,
        settings: &PlacementSettings,
    ) -> Result<Scene<'s>, PlacementError> {
        let standing = Standing::new(site, logs)?.holding(site, &settings.held_back);
        Ok(Scene {
            site,
            network: Network::new(site, logs, &standing, settings.diversity),
            observer: EffectAtSupply::new(site, logs, &standing),
            memo: FigureCache::default(),
            settings: settings.clone(),
            standing,
        })
    }

    /// A connection point for the machine of this number, with other new machines already placed.
    pub(super) fn spot<'p>(
        &'p self,
        (machine, load): (usize, &'p NewLoad),
        (node, connection): (Node, Connection),
        guests: &'p [Guest<'p>],
    ) -> ConnectionPoint<'p> {
        ConnectionPoint {
            network: &self.network,
            memo: &self.memo,
            guests,
            machine,
            load,
            node,
            connection,
            own: OwnParts::new(self.site, load, node),
            starting_drop_limit_pct: self.settings.starting_drop_limit_pct,
            rise_limit_pct: self.settings.rise_limit_pct,
            held_back: &self.settings.held_back,
            neutral_before: &[],
        }
    }
}
