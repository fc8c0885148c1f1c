//! The listener: so many connections at once, each without delay for small answers, and none that says nothing for long.
//!
//! A client that vanished, sends its request a letter at a time and stops, or never reads its answer would hold a connection
//! for ever. A stream that is only silent is not touched: it shows every fifteen seconds that it is alive.

use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::extract::connect_info::Connected;
use axum::serve::{IncomingStream, Listener};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, Sleep, sleep};

/// How many connections may be open at once: every stream there may be, and half as many besides.
pub(crate) const CONNECTIONS_MAX: usize = crate::app::STREAMS_MAX * 3 / 2;

/// How long nothing may be read from or written to a connection.
const SILENCE_MAX: Duration = Duration::from_mins(1);

/// A listener that waits for room before it takes one more.
pub(crate) struct Bounded {
    listener: TcpListener,
    room: Arc<Semaphore>,
}

impl Bounded {
    pub(crate) fn new(listener: TcpListener) -> Self {
        Self { listener, room: Arc::new(Semaphore::new(CONNECTIONS_MAX)) }
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
        (Connection { stream, silence: Box::pin(sleep(SILENCE_MAX)), _permit: permit }, address)
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
    stream: TcpStream,
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
        let polled = Pin::new(&mut self.stream).poll_read(context, into);
        self.heed(polled, context)
    }
}

impl AsyncWrite for Connection {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let polled = Pin::new(&mut self.stream).poll_write(context, bytes);
        self.heed(polled, context)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        pieces: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let polled = Pin::new(&mut self.stream).poll_write_vectored(context, pieces);
        self.heed(polled, context)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }
}

#[cfg(test)]
mod tests {
    use tokio::io::AsyncReadExt;

    use super::*;

    #[tokio::test]
    async fn a_connection_that_says_nothing_is_given_up() {
        let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
        let address = listener.local_addr().unwrap();
        let mut bounded = Bounded::new(listener);
        let _client = TcpStream::connect(address).await.unwrap();
        let (mut connection, _) = Listener::accept(&mut bounded).await;
        connection.silence.as_mut().reset(Instant::now());
        let error = connection.read_u8().await.unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        assert_eq!(bounded.room.available_permits(), CONNECTIONS_MAX - 1);
        drop(connection);
        assert_eq!(bounded.room.available_permits(), CONNECTIONS_MAX);
    }
}
