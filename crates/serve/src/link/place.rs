//! What a link over a wire is plugged into: a network address, or a serial port of this computer.

use std::io;
use std::time::Duration;

use description::{LinkKind, Port, SocketName};
use serial2_tokio::SerialPort;
use socket2::{SockRef, TcpKeepalive};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;

/// Bits on a serial wire for each byte: start, eight, stop.
const BITS_OF_BYTE: u64 = 10;

/// How long what was sent may go unacknowledged before the connection is given up, and what is under way with it: after a cable was out for
/// longer, nothing arrives late.
const UNHEARD_MAX: Duration = Duration::from_secs(2);

/// How often a silent far end is asked whether it is there: first after, then every, and how many times.
const ASK_AFTER: Duration = Duration::from_secs(5);
const ASK_EVERY: Duration = Duration::from_secs(2);
const ASK_TIMES: u32 = 3;

/// Something to read from and write to.
pub(super) type Stream = Box<dyn Wired>;

pub(super) trait Wired: AsyncRead + AsyncWrite + Send + Unpin {}

impl<T: AsyncRead + AsyncWrite + Send + Unpin> Wired for T {}

#[derive(Clone, Debug)]
pub(super) enum Place {
    Network(SocketName),
    Serial { path: String, baud: u32 },
}

impl Place {
    /// Where a link is met; none where it needs no wire.
    pub(super) fn of(kind: &LinkKind) -> Option<Self> {
        match kind {
            LinkKind::LayoutBus { to, .. } => Some(Self::Network(to.value.clone())),
            LinkKind::Bytes(bytes) => Some(match &bytes.to.value {
                Port::Network(to) => Self::Network(to.clone()),
                Port::Serial { path, baud } => Self::Serial { path: path.clone(), baud: *baud },
            }),
            LinkKind::Simulator | LinkKind::Broker { .. } => None,
        }
    }

    pub(super) async fn open(&self) -> io::Result<Stream> {
        match self {
            Self::Network(to) => Ok(Box::new(connect(to).await?)),
            // Raw, eight bits, no parity, one stop bit, no flow control.
            Self::Serial { path, baud } => Ok(Box::new(SerialPort::open(path, *baud)?)),
        }
    }

    /// How long so many bytes are on their way out of the computer. A serial port's own memory holds seconds of them; whoever waits for it
    /// keeps what is not yet sent where it can still be dropped.
    pub(super) fn takes(&self, bytes: usize) -> Duration {
        match self {
            Self::Network(_) => Duration::ZERO,
            Self::Serial { baud, .. } => {
                let bits = (bytes as u64).saturating_mul(BITS_OF_BYTE);
                Duration::from_micros(bits.saturating_mul(1_000_000) / u64::from(*baud).max(1))
            }
        }
    }
}

async fn connect(to: &SocketName) -> io::Result<TcpStream> {
    let host = to.host.trim_start_matches('[').trim_end_matches(']');
    let stream = TcpStream::connect((host, to.port)).await?;
    stream.set_nodelay(true)?;
    let socket = SockRef::from(&stream);
    let ask = TcpKeepalive::new().with_time(ASK_AFTER).with_interval(ASK_EVERY);
    #[cfg(any(target_os = "linux", target_os = "macos", target_os = "windows"))]
    let ask = ask.with_retries(ASK_TIMES);
    socket.set_tcp_keepalive(&ask)?;
    #[cfg(target_os = "linux")]
    socket.set_tcp_user_timeout(Some(UNHEARD_MAX))?;
    Ok(stream)
}
