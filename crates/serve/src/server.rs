//! The panel on a real address, from binding it to closing it.

use std::future::Future;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use journal::{Journal, OpenError};
use plan::model::Plan;
use tokio::net::TcpListener;
use tokio::sync::oneshot;

use crate::listen::{Bounded, Peer};
use crate::{
    Access, Aside, Certificate, CertificateError, Desk, DeskError, Hosts, KeysError, NewKey, Panel, Reread,
    Tls, Upkeep, app,
};

/// The port that is served on when none is asked for: any would do, and this one stays the same from evening to evening.
pub const DEFAULT_PORT: u16 = 7_417;

/// How long requests that are under way may take when the panel is closed.
const CLOSING_WAIT: Duration = Duration::from_secs(3);

/// What the user asked for.
#[derive(Clone, Debug)]
pub struct Options {
    /// The address to serve on; port 0 takes any that is free.
    pub listen: SocketAddr,
    /// The journal's file.
    pub journal: PathBuf,
    /// Which certificate to show, so that what is sent is enciphered; none to send it open.
    pub tls: Option<Tls>,
    /// How many days of rows stay in the journal; none to keep all of them in it.
    pub keep_days: Option<u32>,
    /// How the layout is read anew while it is served; none when it cannot be.
    pub reread: Option<Reread>,
}

impl Options {
    /// Only this computer, the usual port, and this journal.
    pub fn new(journal: PathBuf) -> Self {
        Self {
            listen: SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), DEFAULT_PORT),
            journal,
            tls: None,
            keep_days: None,
            reread: None,
        }
    }
}

/// A panel that is being served.
#[derive(Clone, Debug)]
pub struct Open {
    /// Where it listens.
    pub address: SocketAddr,
    /// What to open in a browser on this computer.
    pub url: String,
    /// What a device on the network opens; none when only this computer can reach the panel.
    pub network: Option<String>,
    /// Keys that were made just now, to be shown this once.
    pub keys: Vec<NewKey>,
    /// The SHA-256 of the certificate that is shown; none when nothing is enciphered.
    pub fingerprint: Option<String>,
    /// What the user should be told: about the journal, about who can reach the panel.
    pub notes: Vec<String>,
}

/// Why a panel cannot be served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The address cannot be listened on.
    #[error("cannot serve on {address}{}", hint(source))]
    Listen {
        /// The address.
        address: SocketAddr,
        /// Why.
        source: std::io::Error,
    },
    /// The journal cannot be opened.
    #[error("cannot open the journal {}", path.display())]
    Journal {
        /// Its file.
        path: PathBuf,
        /// Why.
        source: OpenError,
    },
    /// The keys cannot be used.
    #[error("cannot use the keys in {}", path.display())]
    Keys {
        /// Their file.
        path: PathBuf,
        /// Why.
        source: KeysError,
    },
    /// What is sent cannot be enciphered.
    #[error("cannot show a certificate")]
    Certificate(#[from] CertificateError),
    /// The panel cannot be run.
    #[error("cannot run the panel")]
    Desk(#[from] DeskError),
    /// Serving broke off.
    #[error("serving broke off")]
    Broken(#[source] std::io::Error),
}

/// What to do about an address that cannot be listened on.
fn hint(source: &std::io::Error) -> &'static str {
    use std::io::ErrorKind;
    let hints = [
        (
            ErrorKind::AddrInUse,
            ": another program is there already, perhaps another panel; end it, or name another port with --port",
        ),
        (ErrorKind::AddrNotAvailable, ": this computer has no such address; 0.0.0.0 stands for all it has"),
        (
            ErrorKind::PermissionDenied,
            ": the system keeps this port for itself; name one above 1023 with --port",
        ),
    ];
    hints.iter().find(|(kind, _)| *kind == source.kind()).map_or("", |(_, hint)| hint)
}

/// The address that other devices open, when a panel is served so. Nothing is bound, and only a certificate of the user's own is read.
///
/// # Errors
/// When that certificate cannot be used.
pub fn address_of(options: &Options) -> Result<String, ServeError> {
    let certificate = match &options.tls {
        Some(given @ Tls::Given { .. }) => Some(Certificate::of(given, &options.journal, &[])?.0),
        Some(Tls::SelfMade) | None => None,
    };
    let url = network_url(options.listen, certificate.as_ref());
    Ok(if options.tls.is_some() { url.replacen("http://", "https://", 1) } else { url })
}

/// The address that a device on the network opens.
fn network_url(address: SocketAddr, certificate: Option<&Certificate>) -> String {
    let address = on_the_network(address);
    let scheme = if certificate.is_some() { "https" } else { "http" };
    match certificate.and_then(Certificate::name) {
        Some(name) => format!("{scheme}://{name}:{}/", address.port()),
        None => format!("{scheme}://{address}/"),
    }
}

/// Serves the live panel of a plan until `until` is done, then closes it in good order.
///
/// `opened` is called once, when the panel can be reached.
///
/// # Errors
/// When the address or the journal cannot be used, or two levers of the plan carry one number.
pub async fn serve(
    plan: Plan,
    options: Options,
    opened: impl FnOnce(&Open),
    until: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ServeError> {
    let listen_error = |source| ServeError::Listen { address: options.listen, source };
    let listener = TcpListener::bind(options.listen).await.map_err(listen_error)?;
    let address = listener.local_addr().map_err(listen_error)?;
    // What a network can reach asks for a key, also of this computer: what comes from here may have come through a tunnel.
    let (access, keys) = match address.ip() {
        ip if ip.is_loopback() => (Access::open(), Vec::new()),
        _ => {
            let path = keys_beside(&options.journal);
            Access::keyed(&path, address.port()).map_err(|source| ServeError::Keys { path, source })?
        }
    };
    let names = [reachable(address).ip(), on_the_network(address).ip()];
    let certificate =
        options.tls.as_ref().map(|tls| Certificate::of(tls, &options.journal, &names)).transpose()?;
    let (certificate, told) =
        certificate.map_or((None, None), |(certificate, told)| (Some(certificate), told));
    let journal = Journal::open_file(&options.journal, &plan.network.described.layout.name)
        .map_err(|source| ServeError::Journal { path: options.journal.clone(), source })?;
    let plan = Arc::new(plan);
    let (desk, mut notes) = Desk::open(Arc::clone(&plan), journal)?;
    notes.extend(told);
    desk.tend(upkeep(&options, plan.network.described.layout.name.clone()));
    let network = access.is_keyed().then(|| network_url(address, certificate.as_ref()));
    if access.is_keyed() {
        notes.push(network_note(certificate.as_ref()));
    }
    let scheme = if certificate.is_some() { "https" } else { "http" };
    let url = format!("{scheme}://{}/", reachable(address));
    let fingerprint = certificate.as_ref().map(|certificate| certificate.fingerprint().to_owned());
    let server = Bounded::new(listener, certificate.as_ref());
    let app = app(Panel::behind(&plan, desk.clone(), Hosts::of(address.ip()), access)
        .enciphered(certificate)
        .rereading(options.reread));
    drop(plan);
    opened(&Open { address, url, network, keys, fingerprint, notes });

    let (closing, closed) = oneshot::channel();
    let desk_to_close = desk.clone();
    let close = async move {
        until.await;
        // Streams end with the desk, and the server waits for streams.
        drop(tokio::task::spawn_blocking(move || desk_to_close.close()).await);
        let _ = closing.send(());
    };
    let app = app.into_make_service_with_connect_info::<Peer>();
    let server = axum::serve(server, app).with_graceful_shutdown(close);
    let out_of_patience = async {
        drop(closed.await);
        tokio::time::sleep(CLOSING_WAIT).await;
    };
    tokio::select! {
        ended = async { server.await } => ended.map_err(ServeError::Broken),
        () = out_of_patience => Ok(()),
    }
}

fn upkeep(options: &Options, layout: String) -> Upkeep {
    let journal = options.journal.clone();
    let aside = options.keep_days.map(|days| Aside { journal: journal.clone(), days });
    Upkeep { reopen: Some(Box::new(move || Journal::open_file(&journal, &layout))), aside }
}

/// What whoever opens a panel to the network should know.
fn network_note(certificate: Option<&Certificate>) -> String {
    let sent = match certificate {
        None => "what they send is not enciphered, so serve only on a network of your own, and keep",
        Some(certificate) if certificate.is_self_made() => {
            "what they send is enciphered with a certificate of the panel's own: each device asks about it once, so compare the \
             fingerprint before you accept it, and keep"
        }
        Some(_) => "what they send is enciphered; keep",
    };
    format!(
        "whoever has a key can use this panel from the network; {sent} a reachable switch for track power"
    )
}

/// Done when the user interrupts the program or the system asks it to end.
pub async fn interrupted() {
    let interrupt = async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                () = interrupt => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    interrupt.await;
}

/// The file of keys: named for the journal, beside it.
pub fn keys_beside(journal: &Path) -> PathBuf {
    let mut name = journal.as_os_str().to_owned();
    name.push(".keys");
    name.into()
}

/// The address under which other devices reach what listens there. Of a panel that listens on every address of this computer,
/// the one that the system would send from; no packet is sent to find it.
fn on_the_network(address: SocketAddr) -> SocketAddr {
    // A place that nobody has: RFC 5737, TEST-NET-1.
    let out = ("192.0.2.1", 9);
    let found = || {
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
        socket.connect(out).ok()?;
        Some(socket.local_addr().ok()?.ip())
    };
    match address.ip() {
        ip if ip.is_unspecified() => SocketAddr::new(found().unwrap_or(ip), address.port()),
        _ => address,
    }
}

/// The address under which this computer reaches what listens there.
fn reachable(address: SocketAddr) -> SocketAddr {
    match address.ip() {
        IpAddr::V4(ip) if ip.is_unspecified() => SocketAddr::new(Ipv4Addr::LOCALHOST.into(), address.port()),
        IpAddr::V6(ip) if ip.is_unspecified() => {
            SocketAddr::new(std::net::Ipv6Addr::LOCALHOST.into(), address.port())
        }
        IpAddr::V4(_) | IpAddr::V6(_) => address,
    }
}
