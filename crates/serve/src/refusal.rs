//! Every way in which a request can be refused: each its own type, with a status, a stable code and one plain sentence.
//!
//! The answer is `{"schema":1,"refused":{"code":"lever-unknown","message":"There is no lever 99 on this railroad."}}`.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde_json::json;

/// A refusal, ready to be answered. Every type of this module becomes one.
#[derive(Debug)]
pub struct Refused(Box<Response>, String);

impl Refused {
    /// Leads a browser to another page of the panel.
    pub(crate) fn elsewhere(page: &'static str) -> Self {
        Self(Box::new(axum::response::Redirect::to(page).into_response()), String::new())
    }

    /// The sentence, for those who asked by another way than a request.
    pub(crate) fn says(&self) -> &str {
        &self.1
    }
}

impl IntoResponse for Refused {
    fn into_response(self) -> Response {
        *self.0
    }
}

fn answer(status: StatusCode, code: &str, message: &str) -> Response {
    let refused = json!({ "code": code, "message": message });
    (status, Json(json!({ "schema": 1, "refused": refused }))).into_response()
}

/// What the core refuses, in its own words.
impl From<live::Refusal> for Refused {
    fn from(refusal: live::Refusal) -> Self {
        use live::Refusal as R;
        let status = match &refusal {
            R::LeverUnknown(_) | R::MachineUnknown | R::RouteUnknown => StatusCode::NOT_FOUND,
            R::NoteMissing(_) | R::FinderMissing | R::SkipNoteMissing => StatusCode::UNPROCESSABLE_ENTITY,
            R::LinkDown { .. } | R::OutOfTouch { .. } | R::SupplyBusy => StatusCode::SERVICE_UNAVAILABLE,
            R::LeverHeld { .. }
            | R::LeverLocked { .. }
            | R::HeldElsewhere { .. }
            | R::RouteInTheWay { .. }
            | R::RouteNeedsLocked { .. }
            | R::RouteSetAlready(_)
            | R::RouteNotSet(_)
            | R::RouteWithoutLevers(_)
            | R::Stopped { .. }
            | R::NotStopped
            | R::LockedAlready { .. }
            | R::NotLocked(_)
            | R::NothingToUndo
            | R::UndoNotKnown(_)
            | R::LinkMissing(_) => StatusCode::CONFLICT,
        };
        let says = refusal.to_string();
        Self(Box::new(answer(status, refusal.code(), &says)), says)
    }
}

macro_rules! refusals {
    ($($(#[$doc:meta])* $name:ident $({ $field:ident: $kind:ty })? $status:ident $code:literal $sentence:literal)+) => {
        $(
            $(#[$doc])*
            #[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
            #[error($sentence)]
            pub struct $name {
                $(
                    /// What the sentence names.
                    pub $field: $kind,
                )?
            }

            impl IntoResponse for $name {
                fn into_response(self) -> Response {
                    answer(StatusCode::$status, $code, &self.to_string())
                }
            }

            impl From<$name> for Refused {
                fn from(refusal: $name) -> Self {
                    let says = refusal.to_string();
                    Self(Box::new(refusal.into_response()), says)
                }
            }
        )+
    };
}

refusals! {
    /// No lever carries the number that was asked for.
    LeverUnknown { number: String } NOT_FOUND "lever-unknown" "There is no lever {number} on this railroad."

    /// Nothing is served under this address.
    PageUnknown NOT_FOUND "page-unknown" "There is no such page here. The panel is at the address without anything behind it."

    /// The address is right, but it cannot be used in this way.
    MethodWrong METHOD_NOT_ALLOWED "method-wrong" "This address does not take such a request."

    /// The body is not declared to be JSON.
    BodyNotJson UNSUPPORTED_MEDIA_TYPE "body-not-json" "What is asked for is sent as JSON, with the content type application/json."

    /// The body cannot be read as JSON, or it broke off.
    BodyUnreadable BAD_REQUEST "body-unreadable" "The request could not be read. It should say {{\"position\":\"normal\"}} or {{\"position\":\"reverse\"}}."

    /// The body is JSON, but not a throw.
    PositionUnknown UNPROCESSABLE_ENTITY "position-unknown" "A lever is thrown to \"normal\" or to \"reverse\", and nothing else can be asked for."

    /// The body is JSON, but not what this address takes.
    AskedWrong UNPROCESSABLE_ENTITY "asked-wrong" "The request does not say what this address needs, or says something else besides."

    /// No stop has the name that was asked for.
    StopUnknown { name: String } NOT_FOUND "stop-unknown" "Trains do not stop at {name} on this railroad. Choose one of the stops that are shown."

    /// No machine of the modelled layout has the name that was asked for.
    MachineNotModelled { name: String } NOT_FOUND "machine-not-modelled" "No machine of the simulated layout is called {name}. Faults can be put only into what is simulated."

    /// The key has been used for something else.
    KeyReused UNPROCESSABLE_ENTITY "key-reused" "The key of this request was used for something else before. Use a new key for each thing that is asked for."

    /// The key is too long, or holds letters that a key may not.
    KeyWrong BAD_REQUEST "key-wrong" "The key of this request is too long, or holds letters that a key may not."

    /// The journal cannot be read.
    JournalUnreadable INTERNAL_SERVER_ERROR "journal-unreadable" "The journal cannot be read now."

    /// The body is larger than any throw.
    BodyTooLarge PAYLOAD_TOO_LARGE "body-too-large" "The request is far too long for a throw."

    /// The body did not arrive in time.
    BodySlow REQUEST_TIMEOUT "body-slow" "The request took too long to arrive."

    /// The request was meant for another host: a page of another site may be behind it.
    HostUnknown MISDIRECTED_REQUEST "host-unknown" "This panel answers only under its own address, the one that was printed when it was started."

    /// The request comes from a page that this panel did not serve.
    OriginForeign FORBIDDEN "origin-foreign" "A page of another site may not throw levers here."

    /// Nobody said who asks, and this panel opens only with a key.
    KeyMissing UNAUTHORIZED "key-missing" "This panel opens only with a key. Scan the code that was printed when it was first opened to the network, or go to its address with /enter behind it."

    /// The key that was shown opens nothing.
    KeyUnknown FORBIDDEN "key-unknown" "This key does not open this panel. Look whether every letter is right; keys end when new ones are made."

    /// The one who asks may look, but not do this.
    RoleTooSmall { may: String } FORBIDDEN "role-too-small" "The key of this device does not allow that: it may {may}. Enter with a key that may do more."

    /// No step of commissioning has the key that was asked for.
    StepUnknown { key: String } NOT_FOUND "step-unknown" "There is no step “{key}” in commissioning this railroad."

    /// What was answered at a step of commissioning cannot be taken.
    AnswerWrong { why: String } UNPROCESSABLE_ENTITY "answer-wrong" "{why}"

    /// What was said to be seen names nothing that can be seen.
    SawUnknown { words: String } NOT_FOUND "saw-unknown" "Nothing like “{words}” can be seen on this railroad. Go back, and choose what is shown."

    /// A client asks more often than any person does.
    TooOften TOO_MANY_REQUESTS "too-often" "This device asks too often. Wait a moment and try again."

    /// The journal cannot be written, so nothing new may happen.
    JournalStopped SERVICE_UNAVAILABLE "journal-stopped" "The journal cannot be written, perhaps because the disk is full. No lever can be thrown until there is room; the panel looks for it by itself."

    /// The layout that was read anew has errors, so the one before stays.
    LayoutBroken { why: String } UNPROCESSABLE_ENTITY "layout-broken" "The layout has errors, so the panel goes on with the one before. {why}"

    /// The panel does not know where its layout is.
    LayoutFixed CONFLICT "layout-fixed" "This panel was not started from a file, so there is nothing to read anew."

    /// The layout was changed between the page and the request.
    LayoutChanged PRECONDITION_FAILED "layout-changed" "The layout was changed a moment ago, so levers and routes may have other numbers and names. Nothing was done; look again."

    /// More throws are waiting than can be taken.
    PanelBusy SERVICE_UNAVAILABLE "panel-busy" "Too many levers are being thrown at once. Try again in a moment."

    /// The panel is being closed.
    PanelClosing SERVICE_UNAVAILABLE "panel-closing" "The panel is being closed. No lever was thrown."

    /// As many pages as can be served follow the panel already.
    PagesFull SERVICE_UNAVAILABLE "pages-full" "Too many pages are open. Close one and load this one again."
}
