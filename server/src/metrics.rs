//! `/metrics`, at an address of its own: how the service fares, in the text format that Prometheus reads (version 0.0.4). Nothing is
//! counted where nobody asked for it. Each label has a bounded number of values: routes are patterns, reasons are problem codes.

use std::{
    fmt::{Display, Write as _},
    net::TcpListener,
    sync::Arc,
};

use actix_web::{App, HttpResponse, HttpServer, dev::Server, web};
use diesel::prelude::*;

use crate::{
    on,
    platform::{
        db::{Pool, schema::agency, types::Uid},
        door::lapses,
        error::Fault,
        histogram::Counts,
        http::{Gate, Shared, access_log::AccessLog, watching::Requests},
        traces::Traces,
    },
    sync::{Listening, News},
};

/// The most agencies whose revision is told.
const MOST_AGENCIES: i64 = 100;

/// What is told of.
#[allow(missing_debug_implementations)]
pub struct Metrics {
    /// The service.
    pub shared: Arc<Shared>,
    /// Its connections that write beside the door.
    pub writers: Pool,
    /// What requests come through.
    pub gate: web::Data<Gate>,
    /// Who listens.
    pub news: News,
    /// What was counted of requests.
    pub requests: Arc<Requests>,
    /// The access log, where one is written.
    pub log: Option<AccessLog>,
    /// Where spans are handed in, where traces are asked for.
    pub traces: Option<Traces>,
}

/// Answers at `/metrics` of a listener.
pub fn serve(listener: &TcpListener, metrics: Metrics) -> std::io::Result<Server> {
    let metrics = web::Data::new(metrics);
    let server = HttpServer::new(move || App::new().app_data(metrics.clone()).route("/metrics", web::get().to(told)));
    Ok(server.workers(1).disable_signals().shutdown_timeout(1).listen(listener.try_clone()?)?.run())
}

async fn told(metrics: web::Data<Metrics>) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("text/plain; version=0.0.4; charset=utf-8")
        .body(metrics.text().await)
}

/// What only the database knows.
struct Stored {
    revisions: Vec<(Uid, i64)>,
    /// For how many seconds the oldest lapse has been due.
    lag: i64,
}

impl Metrics {
    async fn text(&self) -> String {
        let mut text = Text::default();
        text.family("fullset_build_info", "gauge", "The version that runs");
        text.sample("fullset_build_info", &[("version", env!("CARGO_PKG_VERSION"))], 1);
        self.requests(&mut text);
        self.writer(&mut text);
        self.beside(&mut text);
        self.stored(&mut text, self.read().await.ok());
        process(&mut text);
        text.0
    }

    fn requests(&self, text: &mut Text) {
        text.family(
            "fullset_http_request_seconds",
            "histogram",
            "Until an answer began, by pattern of the address, method and class of status",
        );
        for ((route, method, class), counts) in self.requests.times() {
            let class = format!("{class}xx");
            text.histogram(
                "fullset_http_request_seconds",
                &[("route", &route), ("method", method), ("status", &class)],
                &counts,
                seconds,
            );
        }
        text.one(
            "fullset_http_requests_under_way",
            "gauge",
            "Requests whose answer has not begun",
            self.requests.under_way(),
        );
        text.one(
            "fullset_http_body_bytes_under_way",
            "gauge",
            "Bytes of request bodies that are held until they are whole",
            self.gate.bodies.held(),
        );
        text.family("fullset_http_refused_total", "counter", "Answers 429 and 503, by reason");
        for ((status, code), count) in self.requests.refused() {
            text.sample("fullset_http_refused_total", &[("status", &status.to_string()), ("reason", code.word())], count);
        }
        if let Some(traces) = &self.traces {
            let (sent, dropped) = traces.counts();
            text.one("fullset_spans_sent_total", "counter", "Spans that the collector of traces took", sent);
            text.one(
                "fullset_spans_dropped_total",
                "counter",
                "Spans that it did not take, or that waited too long for it",
                dropped,
            );
        }
        if let Some(log) = &self.log {
            text.one(
                "fullset_access_log_dropped_total",
                "counter",
                "Lines of the access log that could not be written",
                log.dropped(),
            );
        }
    }

    fn writer(&self, text: &mut Text) {
        let pulse = self.shared.door.pulse();
        text.one("fullset_writer_up", "gauge", "Whether the writer takes commands", u8::from(pulse.alive));
        text.one("fullset_writer_waiting", "gauge", "Jobs that wait for the writer", pulse.waiting);
        text.one(
            "fullset_writer_busy_seconds",
            "gauge",
            "For how long the writer has been at its present group",
            milliseconds(pulse.busy_ms),
        );
        text.one(
            "fullset_writer_failed_total",
            "counter",
            "Commands that failed through a fault of the service",
            pulse.failed,
        );
        text.family(
            "fullset_writer_group_commands",
            "histogram",
            "Commands that the writer took into one transaction",
        );
        text.histogram("fullset_writer_group_commands", &[], &self.shared.door.groups(), |count| count.to_string());
    }

    fn beside(&self, text: &mut Text) {
        text.one(
            "fullset_streams_open",
            "gauge",
            "Live streams that are open",
            self.news.listening(Listening::Stream),
        );
        text.one(
            "fullset_feeds_waiting",
            "gauge",
            "Feeds that wait for a change",
            self.news.listening(Listening::Wait),
        );
        let tasks = self.shared.tasks.states();
        text.family("fullset_task_up", "gauge", "Whether a background task runs");
        for (name, state) in &tasks {
            text.sample("fullset_task_up", &[("task", name)], u8::from(state.running));
        }
        text.family("fullset_task_failures_total", "counter", "How often a background task has failed");
        for (name, state) in &tasks {
            text.sample("fullset_task_failures_total", &[("task", name)], state.failures);
        }
        text.family(
            "fullset_pool_connections",
            "gauge",
            "Connections to the database, by pool and whether they rest",
        );
        for (pool, state) in [("readers", self.shared.readers.state()), ("writers", self.writers.state())] {
            let busy = state.connections.saturating_sub(state.idle_connections);
            text.sample("fullset_pool_connections", &[("pool", pool), ("state", "busy")], busy);
            text.sample("fullset_pool_connections", &[("pool", pool), ("state", "idle")], state.idle_connections);
        }
        text.one(
            "fullset_stopping",
            "gauge",
            "Whether the service was told to stop",
            u8::from(self.shared.tasks.ended()),
        );
    }

    async fn read(&self) -> Result<Stored, Fault> {
        let now = self.shared.clock.now();
        let read = self.shared.read(move |db| {
            let revisions = on!(&mut *db, conn => agency::table
                .select((agency::id, agency::rev))
                .order(agency::id)
                .limit(MOST_AGENCIES)
                .load(conn))?;
            let oldest = lapses::oldest_due(db, now)?;
            Ok(Stored {
                revisions,
                lag: oldest.map_or(0, |oldest| (now - oldest).num_seconds()),
            })
        });
        read.await
    }

    fn stored(&self, text: &mut Text, stored: Option<Stored>) {
        text.one("fullset_database_up", "gauge", "Whether the database can be read", u8::from(stored.is_some()));
        let Some(stored) = stored else { return };
        text.one(
            "fullset_clock_lag_seconds",
            "gauge",
            "How long ago the oldest answer ran out that is not settled",
            stored.lag,
        );
        text.family("fullset_revision", "gauge", "The latest revision of an agency");
        for (id, revision) in stored.revisions {
            text.sample("fullset_revision", &[("agency", &id.0.to_string())], revision);
        }
    }
}

/// What the system says of the process, under the names that are usual for it.
fn process(text: &mut Text) {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let resident = status
        .lines()
        .find_map(|line| line.strip_prefix("VmRSS:")?.trim().strip_suffix("kB")?.trim().parse::<u64>().ok());
    if let Some(kilobytes) = resident {
        text.one(
            "process_resident_memory_bytes",
            "gauge",
            "Memory that the process holds",
            kilobytes.saturating_mul(1024),
        );
    }
    if let Ok(files) = std::fs::read_dir("/proc/self/fd") {
        text.one("process_open_fds", "gauge", "Files and connections that the process has open", files.count());
    }
}

fn seconds(micros: u64) -> String {
    format!("{}.{:06}", micros / 1_000_000, micros % 1_000_000)
}

fn milliseconds(count: u64) -> String {
    seconds(count.saturating_mul(1_000))
}

/// The text format.
#[derive(Debug, Default)]
struct Text(String);

impl Text {
    /// Begins a family of samples.
    fn family(&mut self, name: &str, kind: &str, help: &str) {
        let _ = writeln!(self.0, "# HELP {name} {help}\n# TYPE {name} {kind}");
    }

    /// A family of one sample.
    fn one(&mut self, name: &str, kind: &str, help: &str, value: impl Display) {
        self.family(name, kind, help);
        self.sample(name, &[], value);
    }

    fn sample(&mut self, name: &str, labels: &[(&str, &str)], value: impl Display) {
        let labels: Vec<String> = labels.iter().map(|(name, value)| format!("{name}=\"{}\"", escaped(value))).collect();
        let labels = if labels.is_empty() {
            String::new()
        } else {
            format!("{{{}}}", labels.join(","))
        };
        let _ = writeln!(self.0, "{name}{labels} {value}");
    }

    fn histogram(&mut self, name: &str, labels: &[(&str, &str)], counts: &Counts, written: impl Fn(u64) -> String) {
        let bounds = counts.up_to.iter().map(|(bound, count)| (written(*bound), *count));
        for (bound, count) in bounds.chain([("+Inf".to_owned(), counts.count)]) {
            let labels: Vec<(&str, &str)> = labels.iter().copied().chain([("le", bound.as_str())]).collect();
            self.sample(&format!("{name}_bucket"), &labels, count);
        }
        self.sample(&format!("{name}_sum"), labels, written(counts.sum));
        self.sample(&format!("{name}_count"), labels, counts.count);
    }
}

fn escaped(value: &str) -> String {
    value.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_holds_any_text() {
        let mut text = Text::default();
        text.sample("a", &[("b", "c\"d\\e\nf")], 1);
        assert_eq!(text.0, "a{b=\"c\\\"d\\\\e\\nf\"} 1\n");
        assert_eq!(
            (seconds(1_500_000), seconds(5_000), milliseconds(20)),
            ("1.500000".into(), "0.005000".into(), "0.020000".into())
        );
    }
}
