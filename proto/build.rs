//! Compiles the contract without `protoc`: protox parses it, tonic generates the code.

use std::path::PathBuf;

use prost::Message;
use prost_types::field_descriptor_proto::{Label, Type};
use prost_types::{DescriptorProto, FieldDescriptorProto, FileDescriptorSet};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let files = [
        "lockring/v1/access.proto",
        "lockring/v1/bench.proto",
        "lockring/v1/common.proto",
        "lockring/v1/desk.proto",
        "lockring/v1/forecasts.proto",
        "lockring/v1/local.proto",
        "lockring/v1/papers.proto",
        "lockring/v1/photos.proto",
        "lockring/v1/jobs.proto",
        "lockring/v1/riders.proto",
        "lockring/v1/rides.proto",
        "lockring/v1/ride_logs.proto",
        "lockring/v1/keeping.proto",
        "lockring/v1/figures.proto",
        "lockring/v1/forecasts.proto",
        "lockring/v1/jobs.proto",
        "lockring/v1/money.proto",
        "lockring/v1/shop.proto",
        "lockring/v1/supply.proto",
    ];
    for file in files {
        println!("cargo::rerun-if-changed={file}");
    }
    let set = protox::compile(files, ["."])?;
    let out = PathBuf::from(std::env::var("OUT_DIR")?);
    std::fs::write(out.join("contract.bin"), set.encode_to_vec())?;
    std::fs::write(out.join("schema.json"), schema(&set))?;
    tonic_prost_build::configure()
        .type_attribute(".lockring.v1", "#[derive(serde::Serialize, serde::Deserialize)]")
        .type_attribute(".lockring.v1", "#[serde(deny_unknown_fields)]")
        .compile_fds(set)?;
    Ok(())
}

/// The messages as JSON has them, as a JSON Schema (draft 2020-12): every field of a message is
/// always there, and one that has no value is `null`.
fn schema(set: &FileDescriptorSet) -> String {
    let messages: Vec<String> = set
        .file
        .iter()
        .filter(|file| file.package() == "lockring.v1")
        .flat_map(|file| &file.message_type)
        .map(message)
        .collect();
    format!(
        "{{\"$schema\":\"https://json-schema.org/draft/2020-12/schema\",\"$defs\":{{{}}}}}",
        messages.join(",")
    )
}

fn message(message: &DescriptorProto) -> String {
    // A choice stands under its own name, with the one that was chosen inside it.
    let chosen = |field: &FieldDescriptorProto| field.oneof_index.is_some() && !field.proto3_optional();
    let plain = message.field.iter().filter(|field| !chosen(field));
    let mut names: Vec<&str> = plain.clone().map(FieldDescriptorProto::name).collect();
    let mut properties: Vec<String> = plain.map(property).collect();
    for (index, choice) in message.oneof_decl.iter().enumerate() {
        if message
            .field
            .iter()
            .any(|field| chosen(field) && field.oneof_index() == index as i32)
        {
            names.push(choice.name());
            properties.push(format!(
                "\"{}\":{{\"type\":[\"object\",\"null\"]}}",
                choice.name()
            ));
        }
    }
    let names: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
    format!(
        "\"{}\":{{\"type\":\"object\",\"properties\":{{{}}},\"required\":[{}]}}",
        message.name(),
        properties.join(","),
        names.join(",")
    )
}

fn property(field: &FieldDescriptorProto) -> String {
    let one = match field.r#type() {
        Type::Message => {
            let name = field.type_name().rsplit('.').next().unwrap_or_default();
            format!("{{\"$ref\":\"#/$defs/{name}\"}}")
        }
        Type::String => "{\"type\":\"string\"}".to_owned(),
        Type::Bool => "{\"type\":\"boolean\"}".to_owned(),
        // What is no number, such as a ratio to nothing, is `null`.
        Type::Double | Type::Float => "{\"type\":[\"number\",\"null\"]}".to_owned(),
        Type::Bytes => "{\"type\":\"array\",\"items\":{\"type\":\"integer\"}}".to_owned(),
        _ => "{\"type\":\"integer\"}".to_owned(),
    };
    let maybe = field.proto3_optional() || field.r#type() == Type::Message;
    let shape = if field.label() == Label::Repeated {
        format!("{{\"type\":\"array\",\"items\":{one}}}")
    } else if maybe {
        format!("{{\"anyOf\":[{one},{{\"type\":\"null\"}}]}}")
    } else {
        one
    };
    format!("\"{}\":{shape}", field.name())
}
