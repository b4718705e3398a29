//! The OpenAPI document (3.1): what each route takes and gives is read off its handler's signature.

use axum::Json;
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::handler::Handler;
use axum::routing::{MethodFilter, on};
use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, SchemaGenerator};
use serde_json::{Map, Value, json};

use crate::refusal::{Problem, Refusal};

/// The schemas that the document names, as they come up.
pub struct Schemas(SchemaGenerator);

/// What a route takes and gives.
#[derive(Default)]
pub struct Operation(Map<String, Value>);

/// What a handler takes from a request.
pub trait Takes {
    /// Tells it of an operation; most is nothing that a request is described by.
    fn tell(_schemas: &mut Schemas, _operation: &mut Operation) {}
}

/// What a handler gives.
pub trait Gives {
    /// Tells it of an operation.
    fn tell(schemas: &mut Schemas, operation: &mut Operation);
}

/// A handler, by what it takes.
pub trait Described<Args> {
    /// Tells what it takes and gives.
    fn tell(schemas: &mut Schemas, operation: &mut Operation);
}

macro_rules! described {
    ($($arg:ident),*) => {
        impl<F, Answer, Out, $($arg),*> Described<($($arg,)*)> for F
        where
            F: Fn($($arg),*) -> Answer,
            Answer: Future<Output = Out>,
            Out: Gives,
            $($arg: Takes,)*
        {
            fn tell(schemas: &mut Schemas, operation: &mut Operation) {
                $($arg::tell(schemas, operation);)*
                Out::tell(schemas, operation);
            }
        }
    };
}
described!(A);
described!(A, B);
described!(A, B, C);

impl Schemas {
    /// The schema of a type, or where it is found among the named ones.
    fn of<T: JsonSchema>(&mut self) -> Value {
        self.0.subschema_for::<T>().to_value()
    }
    /// What a type is, written out.
    fn whole<T: JsonSchema>(&mut self) -> Value {
        let schema = self.of::<T>();
        self.0.definitions().get(&*T::schema_name()).cloned().unwrap_or(schema)
    }
    fn content<T: JsonSchema>(&mut self, kind: &str) -> Value {
        json!({ kind: { "schema": self.of::<T>() } })
    }
}

impl Operation {
    /// The body that it takes.
    pub fn body<T: JsonSchema>(&mut self, schemas: &mut Schemas) {
        let content = schemas.content::<T>("application/json");
        let says = schemas.whole::<T>()["description"].clone();
        self.0.insert("requestBody".to_owned(), json!({ "description": says, "content": content, "required": true }));
    }
    /// A parameter for each field of a type.
    fn parameters<T: JsonSchema>(&mut self, schemas: &mut Schemas, place: &str, style: &str) {
        let whole = schemas.whole::<T>();
        let required = |name: &String| whole["required"].as_array().is_some_and(|all| all.contains(&json!(name)));
        let fields = whole["properties"].as_object().into_iter().flatten();
        let parameters = fields.map(|(name, schema)| {
            let says = &schema["description"];
            let mut of =
                json!({ "in": place, "name": name, "description": says, "schema": given(schema), "style": style });
            if required(name) {
                of["required"] = true.into();
            }
            of
        });
        self.0.insert("parameters".to_owned(), parameters.collect());
    }
    fn answers(&mut self, status: &str, answer: Value) {
        self.0.entry("responses").or_insert_with(|| json!({}))[status] = answer;
    }
}

/// The schema of a value where it is given: what is not known is left out instead.
fn given(schema: &Value) -> Value {
    let mut schema = schema.clone();
    if let Some(kinds) = schema["type"].as_array() {
        let kinds: Vec<Value> = kinds.iter().filter(|kind| **kind != "null").cloned().collect();
        schema["type"] = if let [one] = kinds.as_slice() { one.clone() } else { kinds.into() };
    }
    schema
}

impl<S> Takes for State<S> {}
impl<T: JsonSchema> Takes for Query<T> {
    fn tell(schemas: &mut Schemas, operation: &mut Operation) {
        operation.parameters::<T>(schemas, "query", "form");
    }
}
impl<T: JsonSchema> Takes for Path<T> {
    fn tell(schemas: &mut Schemas, operation: &mut Operation) {
        operation.parameters::<T>(schemas, "path", "simple");
    }
}
impl<T: JsonSchema> Gives for Json<T> {
    fn tell(schemas: &mut Schemas, operation: &mut Operation) {
        let content = schemas.content::<T>("application/json");
        let says = schemas.whole::<T>()["description"].as_str().unwrap_or_default().to_owned();
        operation.answers("200", json!({ "description": says, "content": content }));
    }
}
impl<T: Gives> Gives for Result<T, Refusal> {
    fn tell(schemas: &mut Schemas, operation: &mut Operation) {
        T::tell(schemas, operation);
    }
}

/// Routes, described as they are added.
pub struct Routes<S> {
    router: Router<S>,
    schemas: Schemas,
    paths: Map<String, Value>,
}

impl<S: Clone + Send + Sync + 'static> Routes<S> {
    /// None yet.
    pub fn new() -> Self {
        let settings = SchemaSettings::draft2020_12().with(|of| of.definitions_path = "/components/schemas".into());
        Self { router: Router::new(), schemas: Schemas(settings.into_generator()), paths: Map::new() }
    }

    /// One more: its method, its path, what it is for, and who answers.
    pub fn at<H, T, Args>(mut self, method: &str, path: &str, summary: &str, handler: H) -> Self
    where
        H: Handler<T, S> + Described<Args>,
        T: 'static,
    {
        let filter = match method {
            "put" => MethodFilter::PUT,
            "post" => MethodFilter::POST,
            "delete" => MethodFilter::DELETE,
            _ => MethodFilter::GET,
        };
        let mut operation = Operation::default();
        operation.0.insert("summary".to_owned(), summary.into());
        H::tell(&mut self.schemas, &mut operation);
        let content = self.schemas.content::<Problem>("application/problem+json");
        operation.answers("default", json!({ "description": "Why it is not done (RFC 9457).", "content": content }));
        self.paths.entry(path).or_insert_with(|| json!({}))[method] = operation.0.into();
        self.router = self.router.route(path, on(filter, handler));
        self
    }

    /// The routes, and the document; `security`: the one scheme by which all are asked.
    pub fn finish(mut self, info: &Value, security: (&str, &Value)) -> (Router<S>, Value) {
        let (name, scheme) = security;
        let schemas = self.schemas.0.take_definitions(true);
        let document = json!({
            "openapi": "3.1.0",
            "info": info,
            "paths": self.paths,
            "components": { "securitySchemes": { name: scheme }, "schemas": schemas },
            "security": [{ name: [] }],
        });
        (self.router, document)
    }
}
