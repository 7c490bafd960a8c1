//! Serving the pages.

use std::io::{IsTerminal, Write};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use clap::Args;
use jiff::tz::TimeZone;
use job::person::{Person, Role};
use job::shop::Shop;
use tokio::net::TcpListener;
use tracing_subscriber::EnvFilter;

use crate::address::PublicUrl;
use crate::shop::{Everywhere, Missing, wait};
use crate::stop::Stop;

/// Serve the pages.
#[derive(Debug, Args)]
pub(crate) struct Serve {
    #[command(flatten)]
    pub(crate) door: Door,
    /// A name by which other devices reach this computer; may be given again. Without it any name is answered
    /// that is not this computer's own.
    #[arg(long, value_name = "NAME")]
    pub(crate) host: Vec<String>,
    /// The address under which owners reach this program from outside, such as https://shop.example.
    #[arg(long, value_name = "URL", env = "GUIDECOAT_PUBLIC_URL")]
    pub(crate) public_url: Option<PublicUrl>,
}

/// Where the pages are reached.
#[derive(Debug, Clone, Copy, Args)]
pub(crate) struct Door {
    /// The address to listen on; port 0 takes any that is free.
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:8017")]
    pub(crate) listen: SocketAddr,
}

impl Serve {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        log();
        let zone = everywhere.zone()?;
        wait(async {
            let shop = everywhere.shop(Missing::Make).await?;
            let Self { door, host, public_url } = self;
            serve(Arc::new(shop), Served { listen: door.listen, hosts: host, public_url, zone, news: None }).await
        })
    }
}

/// What the program notes while it serves goes to standard error; `RUST_LOG` asks for more or less.
pub(crate) fn log() {
    // The reader of drawings inside the PDF writer warns of every letter it sets in another face.
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| "warn,usvg=error".into());
    let coloured = std::io::stderr().is_terminal();
    tracing_subscriber::fmt().with_env_filter(filter).with_ansi(coloured).with_writer(std::io::stderr).init();
}

/// How and where the pages are served.
pub(crate) struct Served {
    /// The address to listen on.
    pub(crate) listen: SocketAddr,
    /// Names by which other devices reach this computer.
    pub(crate) hosts: Vec<String>,
    /// Where owners reach it from outside.
    pub(crate) public_url: Option<PublicUrl>,
    /// The zone in which times are shown.
    pub(crate) zone: TimeZone,
    /// The token of an owner's link whose address is told once the program listens.
    pub(crate) news: Option<String>,
}

/// Listens, says so, and serves until it is told to stop.
///
/// # Errors
/// When the address cannot be listened on, or others could reach it and no lead has a passphrase.
pub(crate) async fn serve(shop: Arc<Shop>, served: Served) -> Result<(), Stop> {
    let Served { listen, hosts, public_url, zone, news } = served;
    let loopback = listen.ip().is_loopback();
    let leads = |p: &Person| p.active && p.role == Role::Lead && p.passphrase.is_some();
    // Behind a public address others come in by way of this computer itself.
    let reached = !loopback || public_url.is_some();
    if reached && !shop.people().await?.iter().any(leads) {
        let which = match &public_url {
            Some(url) if loopback => format!("--public-url: {url}"),
            _ => format!("--listen: {listen}"),
        };
        return Err(Stop::input(format!(
            "{which} can be reached by others, and no lead has a passphrase: first \
             \"guidecoat people add NAME --role lead --passphrase-stdin\" or \"guidecoat people passphrase NAME\", \
             or listen on 127.0.0.1 only"
        )));
    }
    let refused =
        |e: std::io::Error| Stop::failed(format!("{listen} cannot be listened on ({e}); choose another with --listen"));
    let listener = TcpListener::bind(listen).await.map_err(refused)?;
    let address = listener.local_addr().map_err(refused)?;
    let public_url = public_url.map(|url| url.to_string());
    let app = web::App::new(web::Setting { shop, zone, loopback, hosts, public_url });
    let asked = asked_to_stop().map_err(|e| Stop::failed(format!("the signals that end it cannot be caught ({e})")))?;
    // The line is a contract: whoever started the program waits for it. A closed standard output is no failure.
    let mut out = std::io::stdout();
    let _ = writeln!(out, "listening on http://{address}").and_then(|()| {
        news.map_or(Ok(()), |token| writeln!(out, "the owner's page is http://{address}/o/{token}"))?;
        out.flush()
    });
    let (tell, told) = tokio::sync::oneshot::channel::<()>();
    let serving = web::serve_until(listener, app, async {
        // A teller that is gone has told as well.
        let _ = told.await;
    });
    let mut serving = std::pin::pin!(serving);
    let ended = tokio::select! {
        ended = &mut serving => ended,
        () = asked => {
            drop(tell);
            // Answers under way are finished; one that takes too long is not waited for.
            tokio::time::timeout(GRACE, serving).await.unwrap_or(Ok(()))
        }
    };
    ended.map_err(|e| Stop::failed(format!("serving ended ({e})")))
}

/// How long answers under way may take once the program is asked to stop.
const GRACE: Duration = Duration::from_secs(10);

/// Resolves when somebody presses ctrl-c or the system asks the program to end. The signals are caught from this
/// call on, not from the first wait: whoever reads that the program listens may end it in the same moment.
#[cfg(unix)]
pub(crate) fn asked_to_stop() -> std::io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let (mut interrupt, mut terminate) = (signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?);
    Ok(async move {
        tokio::select! { _ = interrupt.recv() => {}, _ = terminate.recv() => {} }
    })
}

/// Resolves when somebody presses ctrl-c.
#[cfg(not(unix))]
pub(crate) fn asked_to_stop() -> std::io::Result<impl Future<Output = ()>> {
    Ok(async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    })
}
