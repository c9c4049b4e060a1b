"""The API's description: true of the routes, whole, and what is sent by it never breaks the server."""
import re

import pytest

from server.web import access
from tests.entered import desk_app, in_crew


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    return desk_app(tmp_path_factory.mktemp("api"), demo=True)


@pytest.fixture(scope="module")
def told(app):
    answer = app.test_client().get("/api/openapi.json")
    assert answer.status_code == 200
    return answer.json


def test_every_route_of_the_api_is_told_and_no_other(app, told):
    routes = {
        (re.sub(r"<(\w+)>", r"{\1}", rule.rule), method.lower())
        for rule in app.url_map.iter_rules() if rule.rule.startswith("/api/") for method in rule.methods - {"HEAD", "OPTIONS"}
    }
    assert routes == {(path, method) for path, methods in told["paths"].items() for method in methods if method != "parameters"}
    assert ("/api/jobs/{job_id}/entries", "post") in routes


def test_what_is_told_of_access_is_so(app, told):
    """Without a session every address told as shut is shut, and the others are not."""
    client, crew = app.test_client(), in_crew(app, "long-side-deck")
    for path, methods in told["paths"].items():
        for method, operation in methods.items():
            target = path.replace("{job_id}", "long-side-deck")
            status = client.open(target, method=method.upper()).status_code
            assert (status == 401) == ("security" in operation), path
            view = app.view_functions[operation["operationId"].replace("_", ".", 1)]
            crew_status = crew.open(target, method=method.upper()).status_code
            assert (crew_status == 401) == (access.open_to(view) == "desk"), path


def test_every_reference_leads_somewhere_and_every_operation_says_its_errors(told):
    for name in re.findall(r"'#/components/schemas/(\w+)'", str(told)):
        assert name in told["components"]["schemas"]
    for methods in told["paths"].values():
        for operation in methods.values():
            assert operation["summary"]
            errors = [status for status in operation["responses"] if status >= "400"]
            assert {"400", "403"} <= set(errors)
            for status in errors:
                assert operation["responses"][status]["content"]["application/json"]["schema"] == {"$ref": "#/components/schemas/Error"}


def test_the_document_is_openapi(told):
    import schemathesis

    schema = schemathesis.openapi.from_dict(told)
    assert told["openapi"] == "3.1.0"
    schema.validate()
