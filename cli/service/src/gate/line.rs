//! A connection's line, given up when its peer takes nothing for long; and the body that keeps a request under way.

use std::io;
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use axum::body::{Body, Bytes, HttpBody};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;
use tokio::time::{Sleep, sleep};

use crate::gate::room::{Place, UnderWay};

/// How long a peer may take nothing of what is sent.
const STUCK: Duration = Duration::from_secs(20);

/// The line of a connection.
pub struct Line {
    stream: TcpStream,
    place: Place,
    /// Runs while the peer takes nothing.
    stuck: Option<Pin<Box<Sleep>>>,
    /// Whether something waits since the last time that all was sent.
    waits: bool,
}

impl Line {
    /// Around a stream.
    pub fn new(stream: TcpStream, place: Place) -> Self {
        Self { stream, place, stuck: None, waits: false }
    }

    fn sent(&mut self, sent: Poll<io::Result<usize>>, cx: &mut Context) -> Poll<io::Result<usize>> {
        if sent.is_ready() {
            self.stuck = None;
            return sent;
        }
        if !self.waits {
            self.waits = true;
            self.place.is_blocked(true);
        }
        let stuck = self.stuck.get_or_insert_with(|| Box::pin(sleep(STUCK)));
        ready!(stuck.as_mut().poll(cx));
        Poll::Ready(Err(io::Error::new(io::ErrorKind::TimedOut, "the peer reads nothing")))
    }
}

impl AsyncRead for Line {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context, into: &mut ReadBuf) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(cx, into)
    }
}

impl AsyncWrite for Line {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let sent = Pin::new(&mut self.stream).poll_write(cx, bytes);
        self.sent(sent, cx)
    }
    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context,
        parts: &[io::IoSlice],
    ) -> Poll<io::Result<usize>> {
        let sent = Pin::new(&mut self.stream).poll_write_vectored(cx, parts);
        self.sent(sent, cx)
    }
    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }
    /// Asked for when all that there was is written.
    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context) -> Poll<io::Result<()>> {
        if std::mem::take(&mut self.waits) {
            self.place.is_blocked(false);
        }
        Pin::new(&mut self.stream).poll_flush(cx)
    }
    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}

/// A body whose request is under way until it has been handed on whole.
pub struct Answering {
    body: Body,
    _under_way: UnderWay,
}

impl Answering {
    /// Around a body.
    pub fn body(body: Body, under_way: UnderWay) -> Body {
        Body::new(Self { body, _under_way: under_way })
    }
}

impl HttpBody for Answering {
    type Data = Bytes;
    type Error = axum::Error;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
    ) -> Poll<Option<Result<hyper::body::Frame<Bytes>, axum::Error>>> {
        Pin::new(&mut self.body).poll_frame(cx)
    }
    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }
    fn size_hint(&self) -> hyper::body::SizeHint {
        self.body.size_hint()
    }
}
