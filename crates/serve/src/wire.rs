//! What a connection is read from and written to: the socket itself, or what enciphers over it.
//!
//! Every enciphered connection begins with a greeting whose first byte is 22. A browser that was given an address with `http://`
//! begins otherwise; it gets a sentence that it can show.
//!
//! # Source
//! Content type `handshake`: RFC 8446, section 5.1. Status 400 with a plain text: RFC 9110, section 15.5.1.

use std::future::Future;
use std::io;
use std::pin::Pin;
use std::task::{Context, Poll, ready};

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;
use tokio_rustls::server::TlsStream;
use tokio_rustls::{Accept, TlsAcceptor};

/// What begins the greeting.
const GREETING: u8 = 22;

/// The most that is read of a request that came without enciphering, before it is answered.
const UNHEARD_BYTES: usize = 4 * 1024;

const COME_ENCIPHERED: &str = "HTTP/1.1 400 Bad Request\r\ncontent-type: text/plain; charset=utf-8\r\ncache-control: no-store\r\n\
     connection: close\r\n\r\nThis panel is reached only enciphered. Write https:// instead of http:// before its address, and try again.\n";

pub(crate) enum Wire {
    Plain(TcpStream),
    /// Nothing has come yet.
    Silent(TcpStream, TlsAcceptor),
    Greeting(Box<Accept<TcpStream>>),
    Enciphered(Box<TlsStream<TcpStream>>),
    /// It came without enciphering, and so much of the sentence has been written; none before anything was read.
    Astray(TcpStream, Option<usize>),
    Closed,
}

impl Wire {
    pub(crate) fn new(stream: TcpStream, acceptor: Option<TlsAcceptor>) -> Self {
        match acceptor {
            Some(acceptor) => Self::Silent(stream, acceptor),
            None => Self::Plain(stream),
        }
    }

    /// Goes on with the greeting until what is said over it can be read and written.
    fn greet(&mut self, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        loop {
            match self {
                Self::Plain(_) | Self::Enciphered(_) | Self::Closed => return Poll::Ready(Ok(())),
                Self::Silent(stream, _) => {
                    let mut first = [0];
                    let mut into = ReadBuf::new(&mut first);
                    ready!(stream.poll_peek(context, &mut into))?;
                    let is_greeting = match into.filled() {
                        [] => None,
                        [first, ..] => Some(*first == GREETING),
                    };
                    let Self::Silent(stream, acceptor) = std::mem::replace(self, Self::Closed) else {
                        continue;
                    };
                    *self = match is_greeting {
                        Some(true) => Self::Greeting(Box::new(acceptor.accept(stream))),
                        Some(false) => Self::Astray(stream, None),
                        None => Self::Closed,
                    };
                }
                Self::Greeting(accept) => {
                    let enciphered = ready!(Pin::new(accept.as_mut()).poll(context))?;
                    *self = Self::Enciphered(Box::new(enciphered));
                }
                Self::Astray(stream, told) => {
                    ready!(send_astray(stream, told, context))?;
                    *self = Self::Closed;
                }
            }
        }
    }
}

/// Reads what came, then says how to come.
fn send_astray(
    stream: &mut TcpStream,
    told: &mut Option<usize>,
    context: &mut Context<'_>,
) -> Poll<io::Result<()>> {
    let mut stream = Pin::new(stream);
    let written = match told {
        Some(written) => written,
        None => {
            // What is left unread when a connection is closed may cost the other side the answer.
            let mut unheard = [0; UNHEARD_BYTES];
            ready!(stream.as_mut().poll_read(context, &mut ReadBuf::new(&mut unheard)))?;
            told.insert(0)
        }
    };
    while let Some(rest) = COME_ENCIPHERED.as_bytes().get(*written..).filter(|rest| !rest.is_empty()) {
        *written += ready!(stream.as_mut().poll_write(context, rest))?;
    }
    stream.poll_shutdown(context)
}

impl AsyncRead for Wire {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        ready!(self.greet(context))?;
        match &mut *self {
            Self::Plain(stream) => Pin::new(stream).poll_read(context, into),
            Self::Enciphered(stream) => Pin::new(stream).poll_read(context, into),
            // The end: nothing more comes.
            Self::Silent(..) | Self::Greeting(_) | Self::Astray(..) | Self::Closed => Poll::Ready(Ok(())),
        }
    }
}

impl AsyncWrite for Wire {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        ready!(self.greet(context))?;
        match &mut *self {
            Self::Plain(stream) => Pin::new(stream).poll_write(context, bytes),
            Self::Enciphered(stream) => Pin::new(stream).poll_write(context, bytes),
            Self::Silent(..) | Self::Greeting(_) | Self::Astray(..) | Self::Closed => {
                Poll::Ready(Err(io::ErrorKind::BrokenPipe.into()))
            }
        }
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match &mut *self {
            Self::Plain(stream) => Pin::new(stream).poll_flush(context),
            Self::Enciphered(stream) => Pin::new(stream).poll_flush(context),
            Self::Silent(..) | Self::Greeting(_) | Self::Astray(..) | Self::Closed => Poll::Ready(Ok(())),
        }
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match &mut *self {
            Self::Plain(stream) => Pin::new(stream).poll_shutdown(context),
            Self::Enciphered(stream) => Pin::new(stream).poll_shutdown(context),
            Self::Silent(..) | Self::Greeting(_) | Self::Astray(..) | Self::Closed => Poll::Ready(Ok(())),
        }
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        pieces: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        ready!(self.greet(context))?;
        match &mut *self {
            Self::Plain(stream) => Pin::new(stream).poll_write_vectored(context, pieces),
            Self::Enciphered(stream) => Pin::new(stream).poll_write_vectored(context, pieces),
            Self::Silent(..) | Self::Greeting(_) | Self::Astray(..) | Self::Closed => {
                Poll::Ready(Err(io::ErrorKind::BrokenPipe.into()))
            }
        }
    }

    fn is_write_vectored(&self) -> bool {
        match self {
            Self::Plain(stream) => stream.is_write_vectored(),
            Self::Silent(..) | Self::Greeting(_) | Self::Enciphered(_) => true,
            Self::Astray(..) | Self::Closed => false,
        }
    }
}
