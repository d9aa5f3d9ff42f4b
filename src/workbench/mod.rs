//! The whole job in a browser: a small server of the program itself, for one site, on this machine only.
//!
//! In: a site's folder and the program's own path. Out: pages. The folder's files stay the truth: pages read them anew each
//! time, an edit is written into them whole or not at all, and what is worked out comes from the commands of the program,
//! run as a user would run them. `guard` decides who is let in, `site_folder` what may be read and written.

mod answers;
mod candidate;
mod edit_page;
mod folder_state;
mod guard;
mod jobs;
mod kept_copies;
mod list_grid;
mod lock;
mod log_page;
mod merge;
mod pages;
mod readings_page;
mod report_files;
mod routes;
mod site_folder;
mod start_page;
mod workbench_state;

use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;

use tokio::net::TcpListener;

use crate::workbench_state::Workbench;

/// What is opened, and where.
#[derive(Clone, Debug)]
pub struct WorkbenchOptions {
    /// The site's folder; `None`: the start page asks.
    pub site: Option<PathBuf>,
    /// Port of 127.0.0.1; 0: one that is free.
    pub port: u16,
    /// The program that works the answers out.
    pub program: PathBuf,
}

/// Serves until it is stopped from the page or with Ctrl-C. `ready` gets the address with its token, once it can be used.
///
/// # Errors
///
/// The port cannot be had, the folder cannot be read, or the system has no random numbers.
pub fn serve(
    options: WorkbenchOptions,
    ready: impl FnOnce(&str) -> io::Result<()>,
) -> io::Result<()> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    runtime.block_on(async {
        let listener =
            TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, options.port))).await?;
        let workbench = Workbench::new(options, listener.local_addr()?.port())?;
        ready(&workbench.address())?;
        let stopped = std::sync::Arc::clone(&workbench.stop);
        axum::serve(listener, routes::routes(workbench))
            .with_graceful_shutdown(async move {
                tokio::select! {
                    _ = tokio::signal::ctrl_c() => {}
                    () = stopped.notified() => {}
                }
            })
            .await
    })
}
