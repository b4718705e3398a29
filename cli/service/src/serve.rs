//! Listening: connections, their limits, and a graceful end.

use std::convert::Infallible;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::body::Incoming;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use tokio::net::{TcpListener, TcpStream};
use tower::ServiceExt;
use yardless_edit::trouble::{OfStore, Trouble};

use super::app;
use crate::desk::Desk;
use crate::gate::line::Line;
use crate::gate::room::Room;
use crate::request::address::Address;

/// Threads for what reads, writes and reckons: more than the desk ever has at work at once.
const THREADS: usize = 32;
/// How long a head may take to come, and how long requests under way may take to end.
const HEAD: Duration = Duration::from_secs(10);
const END: Duration = Duration::from_secs(10);

/// Serves until it is interrupted or terminated; a planning under way ends with it.
pub fn serve(desk: &Arc<Desk>, bind: SocketAddr, link: Option<&str>) -> Result<(), Trouble> {
    let failed = |e: io::Error| OfStore::NotBound { at: bind.to_string(), why: e.to_string() };
    let threads = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .max_blocking_threads(THREADS)
        .enable_all()
        .build()
        .map_err(failed)?;
    threads.block_on(async {
        let listener = TcpListener::bind(bind).await.map_err(failed)?;
        tell(listener.local_addr().map_err(failed)?, link);
        let door = Door::new(desk);
        tokio::select! {
            () = stopped() => {}
            never = door.open(&listener) => match never {},
        }
        tracing::info!("stopping");
        drop(listener);
        desk.planning.end();
        let _ = tokio::time::timeout(END, door.graceful.shutdown()).await;
        Ok(())
    })
}

/// Where connections come in.
struct Door {
    room: Arc<Room>,
    routes: Router,
    /// Ends what is under way when the door is shut.
    graceful: GracefulShutdown,
}

impl Door {
    fn new(desk: &Arc<Desk>) -> Self {
        let room = Arc::new(Room::new(desk.settings.proxied));
        Self { room, routes: app(Arc::clone(desk)), graceful: GracefulShutdown::new() }
    }

    /// Lets in whoever comes.
    async fn open(&self, listener: &TcpListener) -> Infallible {
        loop {
            match listener.accept().await {
                Ok((stream, peer)) => self.let_in(stream, peer.ip()),
                Err(e) => {
                    // Out of file handles, mostly.
                    tracing::warn!("a connection could not be taken: {e}");
                    self.room.make_one();
                    tokio::time::sleep(Duration::from_millis(50)).await;
                }
            }
        }
    }

    /// Serves a connection beside the others, where there is room for it.
    fn let_in(&self, stream: TcpStream, peer: IpAddr) {
        let Some(place) = self.room.enter(peer) else {
            tracing::warn!("all connections are busy: another one is turned away");
            return;
        };
        let (routes, from) = (self.routes.clone(), place.clone());
        let service = service_fn(move |mut request: hyper::Request<Incoming>| {
            request.extensions_mut().insert(Address(peer));
            request.extensions_mut().insert(from.clone());
            routes.clone().oneshot(request)
        });
        let connection = hyper::server::conn::http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(HEAD)
            .max_buf_size(64 * 1024)
            .serve_connection(TokioIo::new(Line::new(stream, place.clone())), service);
        let connection = self.graceful.watch(connection);
        tokio::spawn(async move {
            // A peer that goes away, or is too slow, ends its own connection only.
            tokio::select! {
                _ = connection => {}
                () = place.given_up() => {}
            }
        });
    }
}

/// Where to go, and what to put in front.
fn tell(at: SocketAddr, link: Option<&str>) {
    eprintln!("Yardless serves at http://{at}/ (Ctrl-C stops it)");
    if let Some(link) = link {
        eprintln!("Sign in as owner, once and within a day: http://{at}/link/{link}");
    }
    if !at.ip().is_loopback() {
        eprintln!(
            "caution: {at} can be reached from other machines, and what is sent can be read on the way. Put a server with \
             TLS in front, have it hand on to a loopback address, and start with --proxied."
        );
    }
}

/// Ctrl-C, or the system's wish to end.
async fn stopped() {
    let interrupted = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminated) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = interrupted => {}
                _ = terminated.recv() => {}
            }
            return;
        }
    }
    let _ = interrupted.await;
}
