//! The panel on a real address, from binding it to closing it.

use std::future::Future;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use axum::serve::ListenerExt;
use journal::{Journal, OpenError};
use plan::model::Plan;
use tokio::net::TcpListener;
use tokio::sync::oneshot;

use crate::{Desk, DeskError, Hosts, Panel, app};

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
}

impl Options {
    /// Only this computer, the usual port, and this journal.
    pub fn new(journal: PathBuf) -> Self {
        Self { listen: SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), DEFAULT_PORT), journal }
    }
}

/// A panel that is being served.
#[derive(Clone, Debug)]
pub struct Open {
    /// Where it listens.
    pub address: SocketAddr,
    /// What to open in a browser on this computer.
    pub url: String,
    /// What the user should be told: about the journal, about who can reach the panel.
    pub notes: Vec<String>,
}

/// Why a panel cannot be served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The address cannot be listened on.
    #[error("cannot serve on {address}")]
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
    /// The panel cannot be run.
    #[error("cannot run the panel")]
    Desk(#[from] DeskError),
    /// Serving broke off.
    #[error("serving broke off")]
    Broken(#[source] std::io::Error),
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
    let journal = Journal::open_file(&options.journal, &plan.network.described.layout.name)
        .map_err(|source| ServeError::Journal { path: options.journal, source })?;
    let plan = Arc::new(plan);
    let (desk, mut notes) = Desk::open(Arc::clone(&plan), journal)?;
    if !address.ip().is_loopback() {
        notes.push(
            "everyone on this network can throw levers: there are no keys yet, so serve only on a network of your own"
                .to_owned(),
        );
    }
    let app = app(Panel::new(&plan, desk.clone(), Hosts::of(address.ip())));
    drop(plan);
    opened(&Open { address, url: format!("http://{}/", reachable(address)), notes });

    let (closing, closed) = oneshot::channel();
    let desk_to_close = desk.clone();
    let close = async move {
        until.await;
        // Streams end with the desk, and the server waits for streams.
        drop(tokio::task::spawn_blocking(move || desk_to_close.close()).await);
        let _ = closing.send(());
    };
    // An event that is a few bytes long should not wait for more.
    let listener = listener.tap_io(|stream| drop(stream.set_nodelay(true)));
    let server = axum::serve(listener, app).with_graceful_shutdown(close);
    let out_of_patience = async {
        drop(closed.await);
        tokio::time::sleep(CLOSING_WAIT).await;
    };
    tokio::select! {
        ended = async { server.await } => ended.map_err(ServeError::Broken),
        () = out_of_patience => Ok(()),
    }
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
