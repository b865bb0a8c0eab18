//! Other people's tools, against the document and the service that serves it: one that tries to break what the document says,
//! and four that make clients from it. Their versions are pinned in `requirements.txt`, in `package-lock.json` and in the dashboard's lock.

mod swaps;
mod workbooks;

use std::{
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::json;

use crate::{
    slices::{calendar_feeds, checks},
    world::{Engine, World, on},
};

const HERE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/outside");

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the repository").to_owned()
}

/// A folder of the test's own, empty.
fn folder(name: &str) -> PathBuf {
    let folder = top().join("target/outside").join(name);
    if folder.exists() {
        std::fs::remove_dir_all(&folder).expect("it can be emptied");
    }
    std::fs::create_dir_all(&folder).expect("target is writable");
    folder
}

/// A tool of the Python under `target/outside`.
pub fn python(tool: &str) -> Command {
    let place = top().join("target/outside");
    let is_current = std::fs::read(place.join("requirements.txt")).ok() == std::fs::read(Path::new(HERE).join("requirements.txt")).ok();
    assert!(is_current, "the outside tools are not there, or not in these versions: run `.ci/install test`");
    let mut command = Command::new(place.join("venv/bin").join(tool));
    // A tool finds the others, and nothing of the person's own.
    let path = std::env::var("PATH").unwrap_or_default();
    command
        .env("PATH", format!("{}:{path}", place.join("venv/bin").display()))
        .env_remove("PYTHONPATH");
    command
}

/// A tool of the dashboard's.
fn node(tool: &str) -> Command {
    let tool = top().join("dashboard/node_modules/.bin").join(tool);
    assert!(tool.exists(), "{} is not there: run `make dashboard`", tool.display());
    Command::new(tool)
}

/// A tool that `.ci/install test` put under target/outside/node.
fn outside_node(tool: &str) -> Command {
    let tool = top().join("target/outside/node/node_modules/.bin").join(tool);
    assert!(tool.exists(), "{} is not there: run `.ci/install test`", tool.display());
    Command::new(tool)
}

/// A picture as a phone might send it.
fn photo(folder: &Path) -> PathBuf {
    let picture = image::RgbImage::from_fn(64, 48, |x, y| image::Rgb([u8::try_from(x * 3).unwrap(), u8::try_from(y * 5).unwrap(), 90]));
    let file = folder.join("photo.jpg");
    picture.save(&file).expect("target is writable");
    file
}

/// What every call is told: where the service is, who calls, and of which piece.
async fn told(world: &World) -> [String; 3] {
    // A coordinator may import.
    [
        world.server.base.clone(),
        world.coordinator().access().await,
        world.county().set_1.ram.to_string(),
    ]
}

/// Runs a tool while the service answers; what it printed. It must end well.
async fn run(mut command: Command) -> String {
    let words = format!("{command:?}");
    let said = tokio::task::spawn_blocking(move || command.output()).await.expect("it did not panic");
    let said = said.unwrap_or_else(|error| panic!("{words}: {error}"));
    let told = format!("{}{}", String::from_utf8_lossy(&said.stdout), String::from_utf8_lossy(&said.stderr));
    assert!(said.status.success(), "{words}\n{told}\n{}", said.status);
    told
}

/// What stands at the end of a path in the document: the records that an id of the county is known for.
fn known_ids(world: &World) -> Vec<(&'static str, String)> {
    let county = world.county();
    vec![
        ("pieces", county.set_1.ram.to_string()),
        ("rigs", county.engine_1.to_string()),
        ("rig-standings", county.engine_2.to_string()),
        ("stations", county.station_1.to_string()),
        ("districts", county.north.to_string()),
        ("shops", county.shop.to_string()),
        ("models", county.models.cutter.to_string()),
        ("rig-classes", county.engine_class.to_string()),
        ("members", world.crew().person.id.to_string()),
    ]
}

/// Thousands of requests that fit the document and that do not: no answer is a fault of the server, and each has a status, a
/// content type and a form that the document names.
#[test]
fn schemathesis_finds_no_answer_that_the_document_does_not_name() {
    on(Engine::Sqlite, async |world: &World| {
        let folder = folder("schemathesis");
        let mut settings = String::new();
        for (noun, id) in known_ids(world) {
            settings += &format!("[[operations]]\ninclude-path-regex = '^/v1/{noun}/\\{{id\\}}'\nparameters = {{ \"path.id\" = \"{id}\" }}\n\n");
        }
        // A client that waits would hold the run up for a minute each time.
        settings += "[[operations]]\ninclude-path = '/v1/changes'\nparameters = { \"query.wait\" = 0 }\n\n";
        std::fs::write(folder.join("schemathesis.toml"), settings).expect("target is writable");
        // `make nightly` tries more, and every value at the edge of its schema.
        let examples = std::env::var("FULLSET_TEST_EXAMPLES");
        let phases = if examples.is_ok() { "coverage,fuzzing" } else { "fuzzing" };
        let examples = examples.as_deref().unwrap_or("6");
        let mut command = python("st");
        command.current_dir(&folder).args(["run", &format!("{}/openapi.json", world.server.base)]);
        command.args(["--header", &format!("Authorization: Bearer {}", world.admin().access().await)]);
        command.args([
            "--checks",
            "not_a_server_error,status_code_conformance,content_type_conformance,response_schema_conformance",
        ]);
        command.args([
            "--phases",
            phases,
            "--max-examples",
            examples,
            "--seed",
            "1",
            "--workers",
            "1",
            "--no-color",
            "--continue-on-failure",
        ]);
        command.args(["--warnings", "off", "--request-timeout", "20"]);
        // One worker: Python 3.11 cannot read its own sources in two threads at once.
        // A stream has no end to wait for; signing out would leave the rest without a member.
        command.args(["--exclude-path", "/v1/changes/live", "--exclude-operation-id", "sign_out"]);
        // Each kind of command is tried at an address of its own; as one union they take longer than all the rest.
        command.args(["--exclude-operation-id", "send_commands", "--exclude-operation-id", "work_out_effects"]);
        let told = run(command).await;
        let tested = told.lines().find_map(|line| line.trim().strip_prefix("Tested:")?.trim().parse::<usize>().ok());
        assert!(tested >= Some(90), "{told}");
    });
}

/// What the calendar says, read by somebody else's library: texts with every sign that must be escaped, lines that must be folded inside of
/// words and before a sign of several octets, days over a change of the clock.
#[test]
fn a_calendar_of_checks_is_read_by_another_library() {
    on(Engine::Sqlite, async |world: &World| {
        let county = world.county();
        let name = r"Weekly; cutters, \n spreaders: Übungssatz für Zug 3 – ✓ a name so long";
        let mut plan = checks::weekly();
        plan["name"] = json!(name);
        plan["covers"] = json!({ "kinds": ["cutter", "spreader"] });
        let plan = checks::in_force(world, plan).await;
        let (address, added) = calendar_feeds::add(&world.officer(), json!({ "of": "rig", "rig": county.engine_1 }), 5).await;
        added.ok();
        let mut command = python("python");
        command.arg(format!("{HERE}/read-calendar.py")).arg(format!("{}{address}", world.server.base));
        let read: serde_json::Value = serde_json::from_str(&run(command).await).expect("it prints JSON");
        assert_eq!((&read["bare"], &read["errors"], &read["version"]), (&json!(0), &json!([]), &json!("2.0")));
        assert!((60..=75).contains(&read["longest"].as_i64().unwrap()), "{read}");
        let mut found: Vec<_> = read["events"].as_array().unwrap().clone();
        found.sort_by_key(|event| event["summary"].to_string());
        let cutter = &found[0];
        assert_eq!(found.len(), 2);
        assert_eq!(cutter["uid"], format!("{}.{plan}@fullset", county.set_1.cutter));
        assert_eq!(cutter["summary"], format!("{name}: E1-CUT"));
        assert_eq!((&cutter["start"], &cutter["end"]), (&json!("2026-11-30"), &json!("2026-12-01")));
        assert_eq!(
            (&cutter["stamp"], &cutter["location"]),
            (&json!("2026-11-25T14:00:00+00:00"), &json!("Engine 1"))
        );
        let lines: Vec<&str> = cutter["description"].as_str().unwrap().lines().collect();
        assert_eq!(lines[0], "Due 2026-11-30 07:00");
        assert_eq!(lines.last(), Some(&"To be signed by a member who is signed off on it"));
        assert_eq!(read["name"], "Checks: Engine 1");
        assert_eq!(read["about"], "The next check of each piece by each plan, in America/Denver.");
    });
}

#[test]
fn a_generated_python_client_sends_commands_a_photo_and_a_file() {
    on(Engine::Sqlite, async |world: &World| {
        let folder = folder("python");
        let ours = top().join("openapi/clients/python");
        let mut command = python("openapi-python-client");
        command.args(["generate", "--fail-on-warning", "--url", &format!("{}/openapi.json", world.server.base)]);
        command.arg("--config").arg(ours.join("config.yaml"));
        command.arg("--custom-template-path").arg(ours.join("templates"));
        command.arg("--output-path").arg(folder.join("client"));
        run(command).await;
        let mut call = python("python");
        call.arg(Path::new(HERE).join("call.py")).arg(folder.join("client"));
        call.args(told(world).await).arg(photo(&folder));
        assert!(run(call).await.contains("python: E1-RAM"));
    });
}

/// Compiles one file with what it imports, and runs it against the service.
async fn compile_and_call(world: &World, folder: &Path, modules: PathBuf, call: &str) -> String {
    std::fs::copy(Path::new(HERE).join(format!("{call}.ts")), folder.join(format!("{call}.ts"))).expect("target is writable");
    if !folder.join("node_modules").exists() {
        std::os::unix::fs::symlink(modules, folder.join("node_modules")).expect("target is writable");
    }
    let mut compile = node("tsc");
    compile.current_dir(folder).args(["-p", "tsconfig.json"]);
    run(compile).await;
    let mut command = Command::new("node");
    command.arg(folder.join(format!("out/{call}.js")));
    command.args(told(world).await).arg(photo(folder));
    run(command).await
}

/// A folder for TypeScript.
fn typescript(name: &str, call: &str) -> PathBuf {
    let folder = folder(name);
    let types = top().join("dashboard/node_modules/@types");
    let settings = format!(
        r#"{{ "compilerOptions": {{ "strict": true, "target": "es2022", "module": "nodenext", "skipLibCheck": true, "types": ["node"],
        "typeRoots": ["{}"], "outDir": "out" }}, "files": ["{call}.ts"] }}"#,
        types.display()
    );
    std::fs::write(folder.join("tsconfig.json"), settings).expect("target is writable");
    std::fs::write(folder.join("package.json"), r#"{ "type": "module" }"#).expect("target is writable");
    folder
}

#[test]
fn generated_typescript_types_compile_and_the_calls_run() {
    on(Engine::Sqlite, async |world: &World| {
        let folder = typescript("typescript", "call");
        let mut command = node("openapi-typescript");
        command
            .arg(format!("{}/openapi.json", world.server.base))
            .arg("-o")
            .arg(folder.join("schema.d.ts"));
        run(command).await;
        let said = compile_and_call(world, &folder, top().join("dashboard/node_modules"), "call").await;
        assert!(said.contains("typescript: E1-RAM"), "{said}");
    });
}

#[test]
fn a_generated_typescript_sdk_compiles_and_the_calls_run() {
    on(Engine::Sqlite, async |world: &World| {
        let folder = typescript("sdk", "call-sdk");
        let mut command = outside_node("openapi-ts");
        command.current_dir(&folder);
        let settings = format!(
            "export default {{ input: '{}/openapi.json', output: {{ path: 'sdk', importFileExtension: '.js' }}, plugins: ['@hey-api/client-fetch', '@hey-api/typescript', '@hey-api/sdk'] }}",
            world.server.base
        );
        std::fs::write(folder.join("settings.mjs"), settings).expect("target is writable");
        std::os::unix::fs::symlink(top().join("target/outside/node/node_modules"), folder.join("node_modules")).expect("target is writable");
        command.args(["-f", "settings.mjs"]);
        run(command).await;
        let said = compile_and_call(world, &folder, top().join("target/outside/node/node_modules"), "call-sdk").await;
        assert!(said.contains("sdk: E1-RAM"), "{said}");
    });
}

/// Needs a JDK, and takes a minute: `make nightly`.
#[test]
#[ignore = "make nightly"]
fn a_generated_java_client_compiles_and_the_calls_run() {
    on(Engine::Sqlite, async |world: &World| {
        let folder = folder("java");
        let mut command = python("openapi-generator-cli");
        command.args([
            "generate",
            "-g",
            "java",
            "--library",
            "native",
            "-i",
            &format!("{}/openapi.json", world.server.base),
        ]);
        command.args(["--additional-properties", JAVA]).arg("-o").arg(&folder);
        run(command).await;
        // The annotations that the generator writes come from a library that only names them.
        let annotations = folder.join("src/main/java/jakarta/annotation");
        std::fs::create_dir_all(&annotations).expect("target is writable");
        for (name, fields) in [
            ("Generated", "String[] value(); String comments() default \"\";"),
            ("Nonnull", ""),
            ("Nullable", ""),
        ] {
            let text = format!("package jakarta.annotation; public @interface {name} {{ {fields} }}");
            std::fs::write(annotations.join(format!("{name}.java")), text).expect("target is writable");
        }
        let mut files = vec![Path::new(HERE).join("Call.java")];
        sources(&folder.join("src/main/java"), &mut files);
        assert!(files.len() > 300, "{}", files.len());
        // The generator's own jar holds the JSON library that its clients use.
        let mut jar = python("python");
        jar.args([
            "-c",
            "import openapi_generator_cli, pathlib; print(next(pathlib.Path(openapi_generator_cli.__file__).parent.glob('*.jar')))",
        ]);
        let jar = run(jar).await.trim().to_owned();
        let classes = folder.join("classes");
        let mut compile = Command::new("javac");
        compile.args(["-nowarn", "-proc:none", "-cp", &jar, "-d"]).arg(&classes).args(files);
        run(compile).await;
        let mut call = Command::new("java");
        call.arg("-cp").arg(format!("{}:{jar}", classes.display())).arg("Call");
        call.args(told(world).await).arg(photo(&folder));
        let said = run(call).await;
        assert!(said.contains("java: E1-RAM"), "{said}");
    });
}

/// A word that is not known becomes `UNKNOWN_DEFAULT_OPEN_API`; a variant is chosen by its discriminator.
const JAVA: &str = "enumUnknownDefaultCase=true,openApiNullable=false,hideGenerationTimestamp=true,useJakartaEe=true,\
                    useOneOfDiscriminatorLookup=true,invokerPackage=fullset,apiPackage=fullset.api,modelPackage=fullset.model";

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("the generator wrote").flatten() {
        let path = entry.path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "java") {
            found.push(path);
        }
    }
}
