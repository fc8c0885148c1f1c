//! The endpoints as one router, without a socket.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock};

use axum::Router;
use axum::http::{HeaderMap, Method, header};
use axum::middleware::from_fn_with_state;
use live::Railroad;
use plan::model::Plan;
use tokio::sync::Semaphore;

use crate::access::{Access, Role};
use crate::certificate::Certificate;
use crate::clients::Clients;
use crate::counts::Counts;
use crate::refusal::{LayoutChanged, MethodWrong, PageUnknown, PanelClosing};
use crate::snapshot::Snapshot;
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
    sheet: Mutex<Arc<Sheet>>,
    reread: Option<Reread>,
    needs: Vec<(Method, &'static str, Option<Role>)>,
    streams: Arc<Semaphore>,
}

/// What of the page comes from the layout.
#[derive(Debug)]
struct Sheet {
    /// The railroad that it was made from.
    railroad: Arc<Railroad>,
    diagram: Option<String>,
    anchors: BTreeMap<String, String>,
    stops: Vec<Stop>,
    mark: String,
    /// Made when it is first asked for.
    bench: OnceLock<Arc<Bench>>,
}

impl Sheet {
    fn of(railroad: Arc<Railroad>) -> Self {
        let plan = railroad.plan();
        let diagram = diagram::of(plan);
        let mut made_from = vec![railroad.layout().to_owned(), diagram.clone().unwrap_or_default()];
        made_from.extend(railroad.levers().map(|lever| format!("{} {}", lever.number, lever.name)));
        made_from.extend(asset::all().map(|asset| asset::tag(asset.bytes)));
        let mark = asset::tag(made_from.join("\n").as_bytes());
        let (anchors, stops) = (anchors(plan), stops(plan));
        Self { railroad, diagram, anchors, stops, mark, bench: OnceLock::new() }
    }
}

/// Reads the layout anew: a plan without errors, or what is wrong, in words.
#[derive(Clone)]
pub struct Reread(Arc<dyn Fn() -> Result<Plan, String> + Send + Sync>);

impl Reread {
    /// Reads it so.
    pub fn by(read: impl Fn() -> Result<Plan, String> + Send + Sync + 'static) -> Self {
        Self(Arc::new(read))
    }

    pub(crate) fn read(&self) -> Result<Plan, String> {
        (self.0)()
    }
}

impl std::fmt::Debug for Reread {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Reread")
    }
}

/// A track where trains stop, with the ends and joints by which the diagram knows it.
#[derive(Clone, Debug)]
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
    pub fn behind(_plan: &Plan, desk: Desk, hosts: Hosts, access: Access) -> Self {
        let sheet = Mutex::new(Arc::new(Sheet::of(desk.railroad())));
        let streams = Arc::new(Semaphore::new(STREAMS_MAX));
        let needs = endpoint::all().into_iter().map(|each| (each.method, each.path, each.needs)).collect();
        let (clients, counts) = (Clients::new(), Counts::default());
        Self(Arc::new(Parts {
            desk,
            hosts,
            access,
            certificate: None,
            clients,
            counts,
            sheet,
            reread: None,
            needs,
            streams,
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

    /// The same panel, which can read its layout anew. Only one that nobody holds yet can be changed so.
    #[must_use]
    pub fn rereading(mut self, reread: Option<Reread>) -> Self {
        if let Some(parts) = Arc::get_mut(&mut self.0) {
            parts.reread = reread;
        }
        self
    }

    pub(crate) fn reread(&self) -> Option<&Reread> {
        self.0.reread.as_ref()
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
    pub(crate) fn layout(&self) -> String {
        self.desk().railroad().layout().to_owned()
    }

    /// The diagram as SVG.
    pub(crate) fn diagram(&self) -> Option<String> {
        self.drawn(&self.desk().railroad()).diagram.clone()
    }

    /// For levers that a decoder's label leads to, what the page calls that place.
    pub(crate) fn anchors(&self) -> BTreeMap<String, String> {
        self.drawn(&self.desk().railroad()).anchors.clone()
    }

    /// Every track where trains stop.
    pub(crate) fn stops(&self) -> Vec<Stop> {
        self.drawn(&self.desk().railroad()).stops.clone()
    }

    /// The mark of what the page is made from: it changes when the page would.
    pub(crate) fn sheet(&self) -> String {
        self.drawn(&self.desk().railroad()).mark.clone()
    }

    /// The mark of the page at one moment.
    pub(crate) fn sheet_of(&self, snapshot: &Snapshot) -> String {
        self.drawn(&snapshot.railroad).mark.clone()
    }

    /// The railroad that a request means by its numbers and names: one with a mark means that of the page it came from, and no other.
    /// To be asked once the whole request is here, since the layout may be changed meanwhile.
    pub(crate) fn meant(&self, headers: &HeaderMap) -> Result<Option<Arc<Railroad>>, LayoutChanged> {
        let Some(mark) = headers.get(header::IF_MATCH) else { return Ok(None) };
        let mark = mark.to_str().unwrap_or_default().trim_matches('"');
        if mark == "*" {
            return Ok(None);
        }
        let railroad = self.desk().railroad();
        if self.drawn(&railroad).mark == mark { Ok(Some(railroad)) } else { Err(LayoutChanged {}) }
    }

    /// What the page shows of a railroad. That of the newest is kept.
    fn drawn(&self, railroad: &Arc<Railroad>) -> Arc<Sheet> {
        let fresh = || Arc::new(Sheet::of(Arc::clone(railroad)));
        let Ok(mut kept) = self.0.sheet.lock() else { return fresh() };
        if !Arc::ptr_eq(&kept.railroad, railroad) {
            *kept = fresh();
        }
        Arc::clone(&kept)
    }

    /// What commissioning and fault-finding need, made when it is first asked for, on a thread that may take its time.
    pub(crate) async fn bench(&self) -> Result<Arc<Bench>, PanelClosing> {
        let sheet = self.drawn(&self.desk().railroad());
        if let Some(bench) = sheet.bench.get() {
            return Ok(Arc::clone(bench));
        }
        let make = move || {
            let of_plan = || Arc::new(Bench::of(Arc::clone(&sheet.railroad)));
            Arc::clone(sheet.bench.get_or_init(of_plan))
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
