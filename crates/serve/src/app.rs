//! The endpoints as one router, without a socket.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use axum::Router;
use axum::http::Method;
use axum::middleware::from_fn_with_state;
use plan::model::Plan;
use tokio::sync::Semaphore;

use crate::access::{Access, Role};
use crate::certificate::Certificate;
use crate::clients::Clients;
use crate::counts::Counts;
use crate::refusal::{MethodWrong, PageUnknown, PanelClosing};
use crate::trial::Bench;
use crate::{Desk, Hosts, asset, diagram, endpoint, guard};

/// How many event streams may be open at once.
pub(crate) const STREAMS_MAX: usize = 1_000;

/// What every endpoint may use.
#[derive(Clone, Debug)]
pub struct Panel(Arc<Parts>);

#[derive(Debug)]
struct Parts {
    desk: Desk,
    hosts: Hosts,
    access: Access,
    certificate: Option<Certificate>,
    clients: Clients,
    counts: Counts,
    layout: String,
    diagram: Option<String>,
    anchors: BTreeMap<String, String>,
    stops: Vec<Stop>,
    sheet: String,
    needs: Vec<(Method, &'static str, Option<Role>)>,
    streams: Arc<Semaphore>,
    bench: OnceLock<Arc<Bench>>,
}

/// A track where trains stop, with the ends and joints by which the diagram knows it.
#[derive(Debug)]
pub(crate) struct Stop {
    pub(crate) name: String,
    pub(crate) ends: Vec<String>,
}

impl Stop {
    /// What people call it: by the end that is drawn there, where that has another name than its track.
    pub(crate) fn called(&self) -> String {
        match self.ends.first().filter(|end| **end != self.name) {
            Some(end) => format!("{end} ({})", self.name),
            None => self.name.clone(),
        }
    }
}

impl Panel {
    /// The panel of a plan, run by this desk, under these hosts, open to whoever reaches it.
    pub fn new(plan: &Plan, desk: Desk, hosts: Hosts) -> Self {
        Self::behind(plan, desk, hosts, Access::open())
    }

    /// The panel of a plan, run by this desk, under these hosts, for whom this access lets in.
    pub fn behind(plan: &Plan, desk: Desk, hosts: Hosts, access: Access) -> Self {
        let layout = plan.network.described.layout.name.clone();
        let diagram = diagram::of(plan);
        let anchors = anchors(plan);
        let mut made_from = vec![layout.clone(), diagram.clone().unwrap_or_default()];
        made_from
            .extend(desk.snapshot().levers.iter().map(|lever| format!("{} {}", lever.number, lever.name)));
        made_from.extend(asset::all().map(|asset| asset::tag(asset.bytes)));
        let sheet = asset::tag(made_from.join("\n").as_bytes());
        let streams = Arc::new(Semaphore::new(STREAMS_MAX));
        let stops = stops(plan);
        let needs = endpoint::all().into_iter().map(|each| (each.method, each.path, each.needs)).collect();
        let (clients, counts) = (Clients::new(), Counts::default());
        Self(Arc::new(Parts {
            desk,
            hosts,
            access,
            certificate: None,
            clients,
            counts,
            layout,
            diagram,
            anchors,
            stops,
            sheet,
            needs,
            streams,
            bench: OnceLock::new(),
        }))
    }

    /// The same panel, where what is sent is enciphered when there is a certificate to show. Only one that nobody holds yet can be
    /// changed so.
    #[must_use]
    pub fn enciphered(mut self, certificate: Option<Certificate>) -> Self {
        if let Some(parts) = Arc::get_mut(&mut self.0) {
            parts.certificate = certificate;
        }
        self
    }

    /// The certificate that it shows; none when nothing is enciphered.
    pub(crate) fn certificate(&self) -> Option<&Certificate> {
        self.0.certificate.as_ref()
    }

    /// The desk that runs it.
    pub fn desk(&self) -> &Desk {
        &self.0.desk
    }

    pub(crate) fn hosts(&self) -> Hosts {
        self.0.hosts
    }

    pub(crate) fn access(&self) -> &Access {
        &self.0.access
    }

    /// What an address needs; none when anyone may have it, or there is no such address.
    pub(crate) fn needs(&self, method: &Method, path: Option<&str>) -> Option<Role> {
        let path = path?;
        self.0.needs.iter().find(|needs| needs.0 == *method && needs.1 == path)?.2
    }

    pub(crate) fn clients(&self) -> &Clients {
        &self.0.clients
    }

    pub(crate) fn counts(&self) -> &Counts {
        &self.0.counts
    }

    /// The layout's name.
    pub(crate) fn layout(&self) -> &str {
        &self.0.layout
    }

    /// The diagram as SVG.
    pub(crate) fn diagram(&self) -> Option<&str> {
        self.0.diagram.as_deref()
    }

    /// For levers that a decoder's label leads to, what the page calls that place.
    pub(crate) fn anchors(&self) -> &BTreeMap<String, String> {
        &self.0.anchors
    }

    /// Every track where trains stop.
    pub(crate) fn stops(&self) -> &[Stop] {
        &self.0.stops
    }

    /// The mark of what the page is made from: it changes when the page would.
    pub(crate) fn sheet(&self) -> &str {
        &self.0.sheet
    }

    /// What commissioning and fault-finding need, made when it is first asked for, on a thread that may take its time.
    pub(crate) async fn bench(&self) -> Result<Arc<Bench>, PanelClosing> {
        if let Some(bench) = self.0.bench.get() {
            return Ok(Arc::clone(bench));
        }
        let panel = self.clone();
        let make = move || {
            let of_plan = || Arc::new(Bench::of(panel.0.desk.railroad().plan()));
            Arc::clone(panel.0.bench.get_or_init(of_plan))
        };
        tokio::task::spawn_blocking(make).await.map_err(|_| PanelClosing {})
    }

    pub(crate) fn streams(&self) -> &Arc<Semaphore> {
        &self.0.streams
    }
}

/// For the first lever of each decoder, by its id, the decoder's anchor.
fn anchors(plan: &Plan) -> BTreeMap<String, String> {
    let first = |(index, decoder): (usize, &plan::model::Decoder)| {
        let planned = plan.addresses.iter().find(|planned| planned.decoder == Some(index))?;
        Some((plan.network.lever(planned.lever).id.clone(), decoder.anchor()))
    };
    plan.decoders.iter().enumerate().filter_map(first).collect()
}

fn stops(plan: &Plan) -> Vec<Stop> {
    let network = &plan.network;
    let is_end = |kind| matches!(kind, network::JointKind::End { .. });
    let stop = |track| {
        let track = network.track(track);
        let ends = track.ends.iter().map(|port| network.joint(port.joint)).filter(|joint| is_end(joint.kind));
        Stop { name: track.name.clone(), ends: ends.map(|joint| joint.id.clone()).collect() }
    };
    network.stops().map(stop).collect()
}

/// Every endpoint of the panel, guarded.
pub fn app(panel: Panel) -> Router {
    endpoint::router()
        .fallback(async || PageUnknown {})
        .method_not_allowed_fallback(async || MethodWrong {})
        .layer(from_fn_with_state(panel.clone(), guard::guard))
        .with_state(panel)
}
