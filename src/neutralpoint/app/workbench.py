"""All addresses of the workbench, and the one way in which each is answered."""

from __future__ import annotations

import asyncio
import contextlib
import inspect
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response, StreamingResponse
from starlette.routing import Route

from neutralpoint.app.bodies import read_file, read_json, read_text
from neutralpoint.app.call import Call, Entry, Handler
from neutralpoint.app.calls_causes import CAUSES
from neutralpoint.app.calls_editing import EDITING
from neutralpoint.app.calls_jobs import WORK
from neutralpoint.app.calls_reading import READING
from neutralpoint.app.calls_saying import SAYING
from neutralpoint.app.events import Hub, watch
from neutralpoint.app.folders import case_folders, file_inside, missing, refuse_links
from neutralpoint.app.guard import Access, Guard
from neutralpoint.app.jobs import Jobs
from neutralpoint.app.notebook import Notebook
from neutralpoint.app.pages import STATIC, STATIC_TYPES, cases_page, notebook_page
from neutralpoint.app.replies import answer, download, failure, sealed_page
from neutralpoint.errors import NeutralPointError

CALLS: tuple[Entry, ...] = (*READING, *EDITING, *WORK, *CAUSES, *SAYING)
UPLOAD_LIMIT = 64 * 1024 * 1024


@dataclass(frozen=True)
class Workbench:
    """What the server holds while it runs."""

    notebooks: dict[str, Notebook]
    jobs: Jobs
    hub: Hub
    access: Access

    def close(self) -> None:
        """End streams, jobs and flights."""
        self.hub.close()
        self.jobs.close()
        for notebook in self.notebooks.values():
            notebook.close()


def make_app(root: Path, *, hosts: frozenset[str], upload_limit: int = UPLOAD_LIMIT) -> Starlette:
    """The workbench as an ASGI application.

    Args:
        root: A case folder, or a folder of cases.
        hosts: Host headers that are answered.
        upload_limit: Bytes of an uploaded file.

    Returns:
        The application; `state.workbench` holds what it works with.

    Raises:
        NeutralPointError: `case-missing` where there is no case.
    """
    hub = Hub()
    jobs = Jobs(hub.tell)
    folders = case_folders(root)
    bench = Workbench(
        notebooks={name: Notebook(name, folder, jobs, hub) for name, folder in folders.items()},
        jobs=jobs,
        hub=hub,
        access=Access(hosts, upload_limit),
    )

    @contextlib.asynccontextmanager
    async def lifespan(_app: Starlette):
        watcher = asyncio.create_task(watch(hub, folders))
        yield
        watcher.cancel()
        await asyncio.to_thread(bench.close)

    app = Starlette(
        routes=_routes(bench),
        lifespan=lifespan,
        middleware=[Middleware(Guard, access=bench.access)],
        exception_handlers={HTTPException: _no_route},
    )
    app.state.workbench = bench
    return app


def _routes(bench: Workbench) -> list[Route]:
    def page(path: str, make: Callable[[Request], Any]) -> Route:
        return Route(path, _answered(make), methods=["GET"])

    routes = [
        page("/", lambda _: HTMLResponse(cases_page(_folders(bench)))),
        page("/static/{name}", _static),
        page("/c/{case}/", lambda request: _notebook(bench, request)),
        page("/c/{case}/report", lambda r: sealed_page(_result(bench, r, "report.html"))),
        page(
            "/c/{case}/results/{name}",
            lambda r: download(_result(bench, r, r.path_params["name"])),
        ),
        page("/c/{case}/api/events", lambda request: _events(bench, request)),
    ]
    for method, path, body, handler in CALLS:
        endpoint = _answered(_caller(bench, body, handler))
        routes.append(Route(f"/c/{{case}}/api/{path}", endpoint, methods=[method]))
    return routes


def _answered(make: Callable[[Request], Any]) -> Callable[[Request], Awaitable[Response]]:
    """An endpoint that turns whatever is returned or raised into an answer."""

    async def endpoint(request: Request) -> Response:
        try:
            if inspect.iscoroutinefunction(make):
                value = await make(request)
            else:
                value = await run_in_threadpool(make, request)
        except Exception as fault:
            return failure(fault)
        return value if isinstance(value, Response) else answer(value)

    return endpoint


def _caller(bench: Workbench, body: str, handler: Handler) -> Callable[[Request], Awaitable[Any]]:
    """An endpoint of a case: read the body as the call wants it, then work in a thread."""

    async def call(request: Request) -> Any:
        notebook = _found(bench, request)
        content: Any = None
        if body == "json":
            content = await read_json(request)
        elif body == "text":
            content = await read_text(request)
        elif body == "file":
            content = await read_file(request, notebook.folder, bench.access.upload_limit)
        made = Call(notebook, dict(request.query_params), dict(request.path_params), content)
        return await run_in_threadpool(handler, made)

    return call


def _found(bench: Workbench, request: Request) -> Notebook:
    name = request.path_params["case"]
    if name not in bench.notebooks:
        raise missing(f"There is no case {name[:60]!r} here.", "case")
    refuse_links(bench.notebooks[name].folder)
    return bench.notebooks[name]


def _folders(bench: Workbench) -> dict[str, Path]:
    return {name: notebook.folder for name, notebook in bench.notebooks.items()}


def _notebook(bench: Workbench, request: Request) -> Response:
    notebook = _found(bench, request)
    return HTMLResponse(notebook_page(notebook.name, notebook.folder, bench.access.token))


def _result(bench: Workbench, request: Request, name: str) -> Path:
    return file_inside(_found(bench, request).results, name)


def _static(request: Request) -> Response:
    path = file_inside(STATIC, request.path_params["name"])
    if path.suffix not in STATIC_TYPES:
        raise missing("There is no such file.", path.name)
    return Response(path.read_bytes(), media_type=STATIC_TYPES[path.suffix])


def _events(bench: Workbench, request: Request) -> Response:
    stream = bench.hub.stream(_found(bench, request).name)
    return StreamingResponse(stream, media_type="text/event-stream")


async def _no_route(_request: Request, fault: HTTPException) -> Response:
    """Addresses and methods that do not exist, in the same four fields."""
    if fault.status_code == 405:
        error = NeutralPointError(
            "request-invalid",
            "The address does not take this method.",
            where="method",
            hint="Load the page again.",
        )
    else:
        error = missing("There is nothing at this address.", "address")
    response = failure(error)
    response.status_code = fault.status_code
    return response
