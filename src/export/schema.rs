//! The structure of the JSON results: keys, types, meanings and units, as JSON Schema 2020-12.

use schemars::{JsonSchema, Schema, generate::SchemaSettings};

use super::CheckResult;
use balance::BalanceResult;
use demand::EnergyResult;
use diagnosis::Diagnosis;
use phases::PhaseResult;
use placement::{Placement, Together};
use tariff::{Bill, InvoiceCheck, WhatIf};

/// A result that has a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SchemaName {
    /// What was read.
    Check,
    /// Which phase each load should be on.
    Balance,
    /// Which phase each load is on.
    Phases,
    /// Connection points of one machine.
    Place,
    /// Connection points of several machines together.
    PlaceTogether,
    /// Findings.
    Diagnose,
    /// Energy and demand.
    Energy,
    /// The bill alone.
    Bill,
    /// An invoice compared with the bill.
    Invoice,
    /// What other terms would have cost.
    WhatIf,
}

impl SchemaName {
    /// All of them.
    pub const ALL: [SchemaName; 10] = [
        SchemaName::Check,
        SchemaName::Balance,
        SchemaName::Phases,
        SchemaName::Place,
        SchemaName::PlaceTogether,
        SchemaName::Diagnose,
        SchemaName::Energy,
        SchemaName::Bill,
        SchemaName::Invoice,
        SchemaName::WhatIf,
    ];

    /// Name on the command line.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            SchemaName::Check => "check",
            SchemaName::Balance => "balance",
            SchemaName::Phases => "phases",
            SchemaName::Place => "place",
            SchemaName::PlaceTogether => "place-together",
            SchemaName::Diagnose => "diagnose",
            SchemaName::Energy => "energy",
            SchemaName::Bill => "bill",
            SchemaName::Invoice => "invoice",
            SchemaName::WhatIf => "what-if",
        }
    }

    /// The command that writes such a result.
    #[must_use]
    pub const fn command(self) -> &'static str {
        match self {
            SchemaName::Check => "tapoff check SITE --format json",
            SchemaName::Balance => "tapoff balance SITE --format json",
            SchemaName::Phases => "tapoff phases SITE --format json",
            SchemaName::Place => {
                "tapoff place SITE --name … --format json; with --apart a list of them"
            }
            SchemaName::PlaceTogether => "tapoff place SITE --new-machines FILE --format json",
            SchemaName::Diagnose => "tapoff diagnose SITE --format json",
            SchemaName::Energy => "tapoff energy SITE --format json",
            SchemaName::Bill => "tapoff energy SITE --bill --format json",
            SchemaName::Invoice => "tapoff energy SITE --invoice FILE --format json",
            SchemaName::WhatIf => "tapoff energy SITE --bill --what-if --format json",
        }
    }

    /// The schema. Keys may be added; those listed stay.
    #[must_use]
    pub fn schema(self) -> Schema {
        match self {
            SchemaName::Check => schema_of::<CheckResult>(),
            SchemaName::Balance => schema_of::<BalanceResult>(),
            SchemaName::Phases => schema_of::<PhaseResult>(),
            SchemaName::Place => schema_of::<Placement>(),
            SchemaName::PlaceTogether => schema_of::<Together>(),
            SchemaName::Diagnose => schema_of::<Diagnosis>(),
            SchemaName::Energy => schema_of::<EnergyResult>(),
            SchemaName::Bill => schema_of::<Bill>(),
            SchemaName::Invoice => schema_of::<InvoiceCheck>(),
            SchemaName::WhatIf => schema_of::<WhatIf>(),
        }
    }
}

fn schema_of<T: JsonSchema>() -> Schema {
    SchemaSettings::draft2020_12()
        .for_serialize()
        .into_generator()
        .into_root_schema_for::<T>()
}
