//! The files to run the service with: the unit, the container file, the proxies' settings, and what they say of settings.

use std::{collections::BTreeSet, path::PathBuf, process::Command};

use crate::world::process::binary;

fn path(name: &str) -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../server/docs")).join(name)
}

pub fn text(name: &str) -> String {
    std::fs::read_to_string(path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// The directives of a unit: section, name and value.
fn directives(unit: &str) -> Vec<(String, String, String)> {
    let mut section = String::new();
    let mut all = Vec::new();
    for line in unit.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#')) {
        if let Some(name) = line.strip_prefix('[').and_then(|line| line.strip_suffix(']')) {
            section = name.to_owned();
        } else {
            let (name, value) = line.split_once('=').unwrap_or_else(|| panic!("no directive: {line}"));
            all.push((section.clone(), name.to_owned(), value.to_owned()));
        }
    }
    all
}

/// Names of directives from systemd.exec(5), systemd.service(5), systemd.resource-control(5), systemd.kill(5) and systemd.unit(5) of
/// version 252, as far as the unit says them.
const KNOWN: [(&str, &[&str]); 3] = [
    ("Unit", &["Description", "Wants", "After"]),
    (
        "Service",
        &[
            "Type",
            "ExecStart",
            "ExecReload",
            "Environment",
            "EnvironmentFile",
            "Restart",
            "RestartSec",
            "TimeoutStopSec",
            "LimitNOFILE",
            "MemoryHigh",
            "MemoryMax",
            "TasksMax",
            "DynamicUser",
            "User",
            "StateDirectory",
            "StateDirectoryMode",
            "LogsDirectory",
            "LogsDirectoryMode",
            "WorkingDirectory",
            "UMask",
            "AmbientCapabilities",
            "CapabilityBoundingSet",
            "NoNewPrivileges",
            "RestrictSUIDSGID",
            "ProtectSystem",
            "ProtectHome",
            "ProtectProc",
            "ProcSubset",
            "ProtectClock",
            "ProtectHostname",
            "ProtectKernelLogs",
            "ProtectKernelModules",
            "ProtectKernelTunables",
            "ProtectControlGroups",
            "PrivateTmp",
            "PrivateDevices",
            "DevicePolicy",
            "KeyringMode",
            "RemoveIPC",
            "LockPersonality",
            "MemoryDenyWriteExecute",
            "RestrictNamespaces",
            "RestrictRealtime",
            "RestrictAddressFamilies",
            "SystemCallArchitectures",
            "SystemCallFilter",
            "SystemCallErrorNumber",
        ],
    ),
    ("Install", &["WantedBy"]),
];

#[test]
fn the_unit_is_one_that_systemd_takes_and_calls_safe() {
    let unit = text("running/fullset.service");
    for (section, name, _) in directives(&unit) {
        let known = KNOWN.iter().any(|(known, names)| *known == section && names.contains(&name.as_str()));
        assert!(known, "[{section}] {name}");
    }
    let says = |name: &str, value: &str| {
        assert!(
            directives(&unit).iter().any(|(_, known, said)| known == name && said == value),
            "{name}={value}"
        )
    };
    says("DynamicUser", "yes");
    says("NoNewPrivileges", "yes");
    says("ProtectSystem", "strict");
    says("SystemCallFilter", "@system-service");
    if Command::new("systemd-analyze").arg("--version").output().is_err() {
        return;
    }
    // It looks whether there is a program where the unit says.
    let folder = tempfile::tempdir().expect("a folder");
    let copy = folder.path().join("fullset.service");
    let here = unit.replace("/usr/local/bin/fullset", &binary().display().to_string());
    std::fs::write(&copy, here).expect("written");
    let run = |arguments: &[&str]| {
        let said = Command::new("systemd-analyze").args(arguments).arg(&copy).output().expect("it starts");
        let told = format!("{}{}", String::from_utf8_lossy(&said.stdout), String::from_utf8_lossy(&said.stderr));
        assert!(said.status.success(), "{told}");
        told
    };
    let told = run(&["verify", "--man=no", "--recursive-errors=one"]);
    assert!(!told.contains("fullset.service"), "{told}");
    // In tenths: what is 2.0 or less of 10 is called safe.
    run(&["security", "--offline=true", "--threshold=20", "--no-pager"]);
}

#[test]
fn the_container_file_runs_it_without_root() {
    let file = text("running/Containerfile");
    let known = [
        "FROM",
        "WORKDIR",
        "COPY",
        "RUN",
        "USER",
        "VOLUME",
        "ENV",
        "EXPOSE",
        "STOPSIGNAL",
        "ENTRYPOINT",
        "CMD",
    ];
    let mut joined = false;
    let mut said = Vec::new();
    for line in file.lines().filter(|line| !line.is_empty() && !line.starts_with('#')) {
        let word = line.split_whitespace().next().unwrap_or_default();
        if !joined {
            assert!(known.contains(&word), "{line}");
            said.push((word, line));
        }
        joined = line.ends_with('\\');
    }
    assert!(!joined);
    let last = |wanted: &str| said.iter().rposition(|(word, _)| *word == wanted).unwrap_or_else(|| panic!("no {wanted}"));
    assert_eq!(
        said.iter().filter(|(word, _)| *word == "FROM").count(),
        2,
        "it is built in one image and runs in another"
    );
    assert!(last("USER") > last("FROM") && last("USER") < last("ENTRYPOINT"));
    assert_eq!(said[last("USER")].1, "USER 10001:10001");
}

/// The block of a proxy's settings that begins with a line, up to the line that ends it.
fn block<'t>(text: &'t str, first: &str) -> &'t str {
    let from = text.find(first).unwrap_or_else(|| panic!("no {first}"));
    let rest = &text[from..];
    &rest[..rest.find("\n}").unwrap_or_else(|| panic!("{first} does not end"))]
}

#[test]
fn proxies_lead_pages_to_tls_and_refuse_the_api_without() {
    let (nginx, caddy) = (text("running/nginx.conf"), text("running/Caddyfile"));
    let from = nginx.rfind("\nserver {").expect("the plain port's server");
    let plain = &nginx[from..];
    assert!(plain.contains("listen 80;"), "{plain}");
    assert!(
        block(plain, "    location ~ ^/v1(/|$) {").starts_with("    location ~ ^/v1(/|$) {\n        return 403;\n    }"),
        "{plain}"
    );
    assert_eq!(plain.matches("return 308 https://").count(), 1);
    assert!(plain.find("return 403").expect("refused") < plain.find("return 308").expect("led"), "{plain}");
    let plain = block(&caddy, "http://rescue.example {");
    assert!(plain.contains("\thandle /v1* {\n\t\trespond 403\n\t}"), "{plain}");
    assert!(plain.contains("\thandle {\n\t\tredir https://{host}{uri} 308\n\t}"), "{plain}");
}

#[test]
fn no_file_names_a_setting_that_there_is_not() {
    let table = text("settings.md");
    let names = |text: &str| -> BTreeSet<String> {
        let words = text.split(|sign: char| !sign.is_ascii_uppercase() && !sign.is_ascii_digit() && sign != '_');
        words.filter(|word| word.starts_with("FULLSET_")).map(str::to_owned).collect()
    };
    let known = names(&table);
    for file in [
        "handbook.md",
        "running/fullset.service",
        "running/Containerfile",
        "running/nginx.conf",
        "running/Caddyfile",
    ] {
        let named = names(&text(file));
        assert!(!named.is_empty(), "{file}");
        let strange: Vec<&String> = named.difference(&known).collect();
        assert!(strange.is_empty(), "{file}: {strange:?}");
    }
}
