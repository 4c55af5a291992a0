//! The server: on loopback only, with one thread for the connections and a few for the work.

use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::Duration;

use http_body_util::{BodyExt as _, Full, Limited};
use hyper::body::{Bytes, Incoming};
use hyper::service::service_fn;
use hyper::{Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::runtime::{Builder, Runtime};

use super::connections::{ConnectionSlot, IDLE_TIMEOUT, ReviewConnections};
use super::end_request::EndRequest;
use super::{AccessGuard, ReviewMethod, ReviewReply, ReviewRequest};
use crate::route;
use crate::site::ReviewSite;
use crate::{ReviewBackend, ReviewError};

/// A form has a few kilobytes.
const MAX_BODY_BYTES: usize = 1 << 17;
/// Requests that are handled at the same time; each may hold some minutes of sound.
const WORKER_THREADS: usize = 4;
/// A request without its form has a few kilobytes too.
const MAX_HEAD_BYTES: usize = 1 << 16;
/// How long requests may take to finish when the server stops.
const SHUTDOWN_GRACE: Duration = Duration::from_secs(5);

/// A server that has its port and is not serving yet.
#[derive(Debug)]
pub struct ReviewServer {
    listener: TcpListener,
    port: u16,
    site: Arc<ReviewSite>,
    runtime: Runtime,
    end: EndRequest,
}

impl ReviewServer {
    /// Takes a port of the loopback interface, 0 for any free one. From now on Ctrl-C and, on
    /// Unix, the system's request to end do not end the process but [`ReviewServer::serve`],
    /// even if they come before it: so what is kept with a link is always dropped.
    pub fn bind(backend: Arc<dyn ReviewBackend>, port: u16) -> Result<Self, ReviewError> {
        let failed = |source| ReviewError::Port { port, source };
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(failed)?;
        listener.set_nonblocking(true).map_err(failed)?;
        let port = listener.local_addr().map_err(failed)?.port();
        let site = Arc::new(ReviewSite::new(backend, AccessGuard::new(port)?));
        let runtime = Builder::new_current_thread()
            .enable_all()
            .max_blocking_threads(WORKER_THREADS)
            .build()?;
        let end = {
            let _inside = runtime.enter();
            EndRequest::new()?
        };
        Ok(Self {
            listener,
            port,
            site,
            runtime,
            end,
        })
    }

    /// The port.
    pub fn port(&self) -> u16 {
        self.port
    }

    /// A link to open first, to all trips or to one. It holds a secret and gives access to
    /// one browser, once. `keep` makes a value of the link, such as a file with it, which is
    /// dropped when the link was used or when the server ends.
    pub fn link<T: Send + 'static, E: From<ReviewError>>(
        &self,
        trip: Option<&str>,
        keep: impl FnOnce(&str) -> Result<T, E>,
    ) -> Result<(), E> {
        let guard = self.site.guard();
        let secret = guard.secret()?;
        let to = trip.map(|trip| {
            let name: String = form_urlencoded::byte_serialize(trip.as_bytes()).collect();
            format!("?trip={name}")
        });
        let entrance = AccessGuard::link_path(&secret);
        let to = to.unwrap_or_default();
        let kept = keep(&format!("http://127.0.0.1:{}{entrance}{to}", self.port))?;
        guard.add_link(secret, kept);
        Ok(())
    }

    /// Reads a trip and makes its pictures in another thread, while the browser starts and
    /// the person looks at the first page.
    pub fn prepare(&self, trip: &str) {
        let (site, trip) = (Arc::clone(&self.site), trip.to_owned());
        std::thread::spawn(move || site.prepare(&trip));
    }

    /// Serves until Ctrl-C, or until the system ends the program; what is under way is
    /// finished.
    pub fn serve(mut self) -> Result<(), ReviewError> {
        let done = self.runtime.block_on(async {
            tokio::select! {
                failed = accept(self.listener, &self.site) => failed,
                () = self.end.wait() => Ok(()),
            }
        });
        self.site.guard().close();
        self.runtime.shutdown_timeout(SHUTDOWN_GRACE);
        done
    }
}

async fn accept(listener: TcpListener, site: &Arc<ReviewSite>) -> Result<(), ReviewError> {
    let listener = tokio::net::TcpListener::from_std(listener)?;
    let connections = Arc::new(ReviewConnections::default());
    loop {
        let (stream, from): (_, SocketAddr) = match listener.accept().await {
            Ok(accepted) => accepted,
            // Out of files, or the caller is gone: the next one may work.
            Err(_) => {
                connections.make_room();
                tokio::time::sleep(Duration::from_millis(50)).await;
                continue;
            }
        };
        if !from.ip().is_loopback() {
            continue;
        }
        let (site, place) = (Arc::clone(site), Arc::new(connections.admit()));
        tokio::spawn(async move {
            let service =
                service_fn(|request| answer(Arc::clone(&site), Arc::clone(&place), request));
            let served = hyper::server::conn::http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(IDLE_TIMEOUT)
                .max_buf_size(MAX_HEAD_BYTES)
                .serve_connection(TokioIo::new(place.watch(stream)), service);
            // A browser may close a connection at any time.
            tokio::select! {
                _ = served => {}
                () = place.ended() => {}
            }
        });
    }
}

async fn answer(
    site: Arc<ReviewSite>,
    place: Arc<ConnectionSlot>,
    request: hyper::Request<Incoming>,
) -> Result<Response<Full<Bytes>>, std::convert::Infallible> {
    let reply = reply(site, &place, request).await;
    place.set_working(false);
    Ok(reply.into_response())
}

async fn reply(
    site: Arc<ReviewSite>,
    place: &ConnectionSlot,
    request: hyper::Request<Incoming>,
) -> ReviewReply {
    let looks = *request.method() == hyper::Method::GET;
    let method = match *request.method() {
        hyper::Method::GET | hyper::Method::HEAD => ReviewMethod::Get,
        hyper::Method::POST => ReviewMethod::Post,
        _ => return ReviewReply::text(StatusCode::METHOD_NOT_ALLOWED, "Only GET and POST."),
    };
    let (head, body) = request.into_parts();
    let path = head.uri.path();
    // A HEAD request does not use up a link.
    let entering = looks && path.starts_with("/enter/");
    let guest = site.guard().is_known(&head.headers);
    if let Err(refusal) = site.guard().check(&head.headers, method, entering) {
        return ReviewReply::text(StatusCode::FORBIDDEN, refusal.words());
    }
    if guest {
        place.mark_known();
    }
    let body = Limited::new(body, MAX_BODY_BYTES).collect();
    let body = match tokio::time::timeout(IDLE_TIMEOUT, body).await {
        Ok(Ok(body)) => body.to_bytes(),
        Ok(Err(_)) => {
            return ReviewReply::text(StatusCode::PAYLOAD_TOO_LARGE, "The request is too long.");
        }
        Err(_) => {
            return ReviewReply::text(
                StatusCode::REQUEST_TIMEOUT,
                "The rest of the request did not arrive.",
            );
        }
    };
    let request = ReviewRequest::new(method, path, head.uri.query(), &head.headers, &body);
    let request = request.with_guest(guest);
    place.set_working(true);
    let work = tokio::task::spawn_blocking(move || route::reply(&site, &request));
    work.await.unwrap_or_else(|_| {
        let words = "This page failed. Nothing is lost: go back and try again.";
        ReviewReply::text(StatusCode::INTERNAL_SERVER_ERROR, words)
    })
}
