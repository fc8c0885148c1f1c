//! The listener: so many connections at once, each without delay for small answers, and none that says nothing for long.
//!
//! A client that vanished, sends its request a letter at a time and stops, or never reads its answer would hold a connection
//! for ever. A stream that is only silent is not touched: it shows every fifteen seconds that it is alive.
//!
//! Where a certificate is shown, what comes and goes is enciphered below all this. The greeting is done while the connection is
//! read for the first time, so that one who stays silent in it keeps nobody from being heard; and who comes without enciphering is
//! told how to come.

use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::extract::connect_info::Connected;
use axum::serve::{IncomingStream, Listener};
use socket2::SockRef;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpListener;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, Sleep, sleep};
use tokio_rustls::TlsAcceptor;

use crate::certificate::Certificate;
use crate::wire::Wire;

/// How many connections may be open at once: every stream there may be, and half as many besides.
pub(crate) const CONNECTIONS_MAX: usize = crate::app::STREAMS_MAX * 3 / 2;

/// How much the system may keep for a client that does not read. Left alone it keeps megabytes for each, and all they hold is old.
const UNREAD_BYTES: usize = 64 * 1024;

/// How long nothing may be read from or written to a connection.
const SILENCE_MAX: Duration = Duration::from_mins(1);

/// How long the greeting of an enciphered connection may take, however many letters come in it.
const GREETING_MAX: Duration = Duration::from_secs(10);

/// A listener that waits for room before it takes one more.
pub(crate) struct Bounded {
    listener: TcpListener,
    room: Arc<Semaphore>,
    acceptor: Option<TlsAcceptor>,
}

impl Bounded {
    /// Enciphers what is sent when there is a certificate to show.
    pub(crate) fn new(listener: TcpListener, certificate: Option<&Certificate>) -> Self {
        let acceptor = certificate.map(|certificate| certificate.config().into());
        Self { listener, room: Arc::new(Semaphore::new(CONNECTIONS_MAX)), acceptor }
    }
}

impl Listener for Bounded {
    type Io = Connection;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        // The semaphore is never closed; without a permit the connection is taken all the same.
        let permit = Arc::clone(&self.room).acquire_owned().await.ok();
        let (stream, address) = Listener::accept(&mut self.listener).await;
        // An event that is a few bytes long should not wait for more.
        drop(stream.set_nodelay(true));
        drop(SockRef::from(&stream).set_send_buffer_size(UNREAD_BYTES));
        let patience = if self.acceptor.is_some() { GREETING_MAX } else { SILENCE_MAX };
        let wire = Wire::new(stream, self.acceptor.clone());
        (Connection { wire, silence: Box::pin(sleep(patience)), _permit: permit }, address)
    }

    fn local_addr(&self) -> io::Result<Self::Addr> {
        self.listener.local_addr()
    }
}

/// Where a request came from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Peer(pub(crate) SocketAddr);

impl Connected<IncomingStream<'_, Bounded>> for Peer {
    fn connect_info(stream: IncomingStream<'_, Bounded>) -> Self {
        Self(*stream.remote_addr())
    }
}

/// A connection that is given up after a long silence.
pub(crate) struct Connection {
    wire: Wire,
    silence: Pin<Box<Sleep>>,
    _permit: Option<OwnedSemaphorePermit>,
}

impl Connection {
    /// Starts the wait anew when something came or went, and gives up when nothing has for too long.
    fn heed<T>(&mut self, polled: Poll<io::Result<T>>, context: &mut Context<'_>) -> Poll<io::Result<T>> {
        match polled {
            Poll::Pending if self.silence.as_mut().poll(context).is_ready() => {
                Poll::Ready(Err(io::ErrorKind::TimedOut.into()))
            }
            Poll::Pending => Poll::Pending,
            Poll::Ready(done) => {
                self.silence.as_mut().reset(Instant::now() + SILENCE_MAX);
                Poll::Ready(done)
            }
        }
    }
}

impl AsyncRead for Connection {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let polled = Pin::new(&mut self.wire).poll_read(context, into);
        self.heed(polled, context)
    }
}

impl AsyncWrite for Connection {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let polled = Pin::new(&mut self.wire).poll_write(context, bytes);
        self.heed(polled, context)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.wire).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.wire).poll_shutdown(context)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        pieces: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let polled = Pin::new(&mut self.wire).poll_write_vectored(context, pieces);
        self.heed(polled, context)
    }

    fn is_write_vectored(&self) -> bool {
        self.wire.is_write_vectored()
    }
}

#[cfg(test)]
mod tests {
    use tokio::io::{AsyncReadExt, AsyncWriteExt};
    use tokio::net::TcpStream;

    use super::*;

    #[tokio::test]
    async fn a_connection_that_says_nothing_is_given_up() {
        let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
        let address = listener.local_addr().unwrap();
        let mut bounded = Bounded::new(listener, None);
        let _client = TcpStream::connect(address).await.unwrap();
        let (mut connection, _) = Listener::accept(&mut bounded).await;
        connection.silence.as_mut().reset(Instant::now());
        let error = connection.read_u8().await.unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        assert_eq!(bounded.room.available_permits(), CONNECTIONS_MAX - 1);
        drop(connection);
        assert_eq!(bounded.room.available_permits(), CONNECTIONS_MAX);
    }

    #[tokio::test(start_paused = true)]
    async fn a_reader_that_never_reads_is_given_up() {
        let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
        let address = listener.local_addr().unwrap();
        let mut bounded = Bounded::new(listener, None);
        let _client = TcpStream::connect(address).await.unwrap();
        let (mut connection, _) = Listener::accept(&mut bounded).await;
        let piece = vec![0; 1024 * 1024];
        let mut written = 0;
        let error = loop {
            match connection.write(&piece).await {
                Ok(bytes) => written += bytes,
                Err(error) => break error,
            }
            assert!(written < 1024 * 1024 * 1024, "the system keeps no gigabyte for anyone");
        };
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
    }

    #[tokio::test(start_paused = true)]
    async fn a_greeting_that_does_not_end_is_given_up_although_letters_come() {
        let folder = std::env::temp_dir().join(format!("throwbar-greeting-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let own = crate::Tls::SelfMade;
        let (certificate, _) = Certificate::of(&own, &folder.join("evening.journal"), &[]).unwrap();
        std::fs::remove_dir_all(&folder).unwrap();
        let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
        let address = listener.local_addr().unwrap();
        let mut bounded = Bounded::new(listener, Some(&certificate));
        let mut client = TcpStream::connect(address).await.unwrap();
        let (mut connection, _) = Listener::accept(&mut bounded).await;
        // A handshake record of 512 bytes, of which one comes each second.
        client.write_all(&[22, 3, 1, 2, 0, 1]).await.unwrap();
        let started = Instant::now();
        let slowly = async {
            loop {
                sleep(Duration::from_secs(1)).await;
                if client.write_all(&[0]).await.is_err() {
                    std::future::pending::<()>().await;
                }
            }
        };
        let error = tokio::select! {
            read = connection.read_u8() => read.unwrap_err(),
            () = slowly => unreachable!("it writes for ever"),
        };
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        assert!(started.elapsed() <= GREETING_MAX + Duration::from_secs(1), "{:?}", started.elapsed());
    }
}
