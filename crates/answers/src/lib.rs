//! The JSON that the tool answers with: the only types that know its members, converted by hand from what the other
//! rooms hold. Members are never renamed or removed once released; each document opens with `"schema": 1`.
//!
//! Nothing is chosen here. A quantity has its unit in its member's name, a position is `"normal"` or `"reverse"`, a
//! decision carries `because`: one short sentence for each reason, with the rule's name at its end.

mod accessories;
mod addresses;
mod capture;
mod changes;
mod check;
mod commissioning;
mod drawing;
mod fascias;
mod faults;
mod levers;
mod locking;
mod packet;
mod parts;
mod polarity;
mod power;
mod routes;
mod wiring;

pub use accessories::AccessoryRow;
pub use addresses::{AddressRow, AddressesAnswer, DecoderRow, PairRow, StripRow, addresses};
pub use capture::{
    CapturedRow, FaultRow, SpreadRow, TimingAnswer, captured, conflict, fault, signal_fault, timing,
    traffic_fault,
};
pub use changes::{ChangesAnswer, SheetRow, WorkRow, changes};
pub use check::{CheckAnswer, DiagnosticRow, EditRow, FixRow, RelatedRow, Rows, Text, Texts, check};
pub use commissioning::{BandRow, CommissioningAnswer, CommissioningRow, FailsRow, commissioning};
pub use drawing::{DrawingAnswer, drawing};
pub use fascias::{DeviceRow, DoesRow, FasciaRow};
pub use faults::{
    FaultsAnswer, FaultyRow, LookRow, NextTestRow, SplitRow, SuspectRow, SymptomRow, can_be_seen,
    fault_sheet, faults,
};
pub use levers::{LeverRow, LeversAnswer, levers};
pub use locking::{Diode, FlankRow, LeverLocks, LockedPair, LockingAnswer, MatrixRow, locked_pairs, locking};
pub use packet::{
    ByteRow, CvRow, PacketAnswer, PartOfByteRow, Reading, SentRow, StreamAnswer, explained, packet, stream,
};
pub use parts::{ListedPartRow, ListedWireRow, PartsAnswer, parts};
pub use polarity::{DistrictRow, DistrictTrackRow, FrogRow, GapRow, PolarityAnswer, SectionRow, polarity};
pub use power::{
    BusRow, BusRunRow, DamperRow, DischargeRow, FeederRow, NodeRow, OpenedRow, PowerAnswer, ReadingRow,
    ResistorRow, ShortRow, SupplyRow, ThrownRow, power,
};
pub use routes::{LeverPosition, MachinePosition, RouteRow, RoutesAnswer, routes};
pub use wiring::{ModuleJointRow, PinRow, RunRow, TerminalRow, TerminalStripRow, WiringAnswer, wiring};

use notice::Decided;
use plan::model::Plan;
use serde::Serialize;

/// The version of these documents.
pub const SCHEMA: u32 = 1;

/// `plan`: everything that was decided.
#[derive(Debug, Serialize)]
pub struct PlanAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// The layout's name.
    pub layout: String,
    /// As `show levers`.
    pub levers: Vec<LeverRow>,
    /// As `show addresses`.
    pub addresses: Vec<AddressRow>,
    /// Signals and lights, in the order of their numbers.
    pub accessories: Vec<AccessoryRow>,
    /// As `show addresses`.
    pub decoders: Vec<DecoderRow>,
    /// As `show addresses`.
    pub strips: Vec<StripRow>,
    /// Panels with a drawn diagram, and what stands on them.
    pub fascias: Vec<FasciaRow>,
    /// What has to be there to build it.
    pub parts: Vec<PartRow>,
    /// How many routes there are.
    pub routes: usize,
    /// With `--keep`: the record that was written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kept: Option<KeptRow>,
}

/// The as-built record after `plan --keep`.
#[derive(Debug, Serialize)]
pub struct KeptRow {
    /// The file.
    pub file: String,
    /// Whether it is another than before.
    pub changed: bool,
}

/// A part that the plan needs.
#[derive(Debug, Serialize)]
pub struct PartRow {
    /// What it is.
    pub what: String,
    /// How many.
    pub count: u32,
    /// Why so many.
    pub because: Vec<String>,
}

/// Answers `plan`.
pub fn plan(plan: &Plan) -> PlanAnswer {
    let addresses = addresses(plan);
    PlanAnswer {
        schema: SCHEMA,
        layout: plan.network.described.layout.name.clone(),
        levers: levers(plan).levers,
        addresses: addresses.addresses,
        accessories: accessories::accessories(plan),
        decoders: addresses.decoders,
        strips: addresses.strips,
        fascias: fascias::fascias(plan),
        parts: plan
            .parts
            .iter()
            .map(|part| PartRow {
                what: part.what.clone(),
                count: part.count.value,
                because: because(&part.count),
            })
            .collect(),
        routes: plan.routes.len(),
        kept: None,
    }
}

/// The reasons of a decision, one sentence each.
pub fn because<T>(decided: &Decided<T>) -> Vec<String> {
    decided.because().map(ToString::to_string).collect()
}
