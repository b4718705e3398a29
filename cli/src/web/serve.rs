//! Listening: connections, their limits, and a graceful end.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use axum::Extension;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

use super::app;
use super::desk::Desk;
use super::page::Address;
use crate::trouble::Trouble;

/// Connections at once.
const MOST_CONNECTIONS: usize = 512;
/// How long a head may take to come, and how long requests under way may take to end.
const HEAD: Duration = Duration::from_secs(10);
const END: Duration = Duration::from_secs(10);

/// Serves until it is interrupted or terminated; a planning under way ends with it.
pub fn serve(desk: &Arc<Desk>, bind: SocketAddr, link: Option<&str>) -> Result<(), Trouble> {
    let failed = |e: std::io::Error| {
        let help = "give --bind another address or port";
        Trouble::ours("serve::bind", format!("{bind} cannot be listened at: {e}"), help)
    };
    let threads = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .max_blocking_threads(16)
        .enable_all()
        .build()
        .map_err(failed)?;
    threads.block_on(async {
        let listener = TcpListener::bind(bind).await.map_err(failed)?;
        let at = listener.local_addr().map_err(failed)?;
        tell(at, link);
        let stop = stopped();
        tokio::pin!(stop);
        let graceful = GracefulShutdown::new();
        let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
        let routes = app(Arc::clone(desk));
        loop {
            let (stream, peer) = tokio::select! {
                () = &mut stop => break,
                came = listener.accept() => match came {
                    Ok(came) => came,
                    Err(e) => {
                        // Out of file handles, mostly: those that end make room.
                        tracing::warn!("a connection could not be taken: {e}");
                        tokio::time::sleep(Duration::from_millis(50)).await;
                        continue;
                    }
                },
            };
            let Ok(place) = Arc::clone(&room).try_acquire_owned() else {
                tracing::warn!("{MOST_CONNECTIONS} connections are open: another one is turned away");
                continue;
            };
            let service = TowerToHyperService::new(routes.clone().layer(Extension(Address(peer.ip()))));
            let connection = hyper::server::conn::http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(HEAD)
                .max_buf_size(64 * 1024)
                .serve_connection(TokioIo::new(stream), service);
            let connection = graceful.watch(connection);
            tokio::spawn(async move {
                // A peer that goes away, or is too slow, ends its own connection only.
                let _ = connection.await;
                drop(place);
            });
        }
        tracing::info!("stopping");
        drop(listener);
        desk.planning.end();
        let _ = tokio::time::timeout(END, graceful.shutdown()).await;
        Ok(())
    })
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
