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

from neutralpoint.app.bodies import read_file, read_json, read_text, wanted
from neutralpoint.app.calls.call import Call, Entry, Handler
from neutralpoint.app.calls.causes import CAUSES
from neutralpoint.app.calls.comparing import COMPARING
from neutralpoint.app.calls.editing import EDITING
from neutralpoint.app.calls.jobs import WORK
from neutralpoint.app.calls.picturing import PICTURING
from neutralpoint.app.calls.reading import READING
from neutralpoint.app.calls.saying import SAYING
from neutralpoint.app.events import Hub, watch
from neutralpoint.app.folders import (
    begin_case,
    begin_example,
    case_folders,
    file_inside,
    gone,
    is_case,
    missing,
    refuse_links,
)
from neutralpoint.app.guard import Access, Guard
from neutralpoint.app.jobs import Jobs
from neutralpoint.app.memory import give_back
from neutralpoint.app.notebook import Notebook
from neutralpoint.app.pages import STATIC, STATIC_TYPES, cases_page, notebook_page
from neutralpoint.app.replies import answer, download, failure, sealed_page
from neutralpoint.app.unpacking import unpack_case
from neutralpoint.errors import NeutralPointError

CALLS: tuple[Entry, ...] = (*READING, *EDITING, *WORK, *CAUSES, *COMPARING, *SAYING, *PICTURING)
EVENTS = "text/event-stream"
TIDIED = 15.0  # s between two times at which free memory is handed back


@dataclass(frozen=True)
class Workbench:
    """What the server holds while it runs.

    Attributes:
        root: A case folder, or a folder of cases.
        notebooks: Of the cases, by name.
        jobs: Long work of all of them.
        hub: Where news are told.
        access: Who may ask.
    """

    root: Path
    notebooks: dict[str, Notebook]
    jobs: Jobs
    hub: Hub
    access: Access

    def folders(self) -> dict[str, Path]:
        """The cases as they are now: those made since, here or elsewhere, are taken in."""
        for name, folder in case_folders(self.root).items():
            if name not in self.notebooks:
                self.notebooks.setdefault(name, Notebook(name, folder, self.jobs, self.hub))
        held = sorted(self.notebooks.items())
        return {name: notebook.folder for name, notebook in held if is_case(notebook.folder)}

    def shown(self) -> dict[str, Path]:
        """Cases that a page has asked for."""
        return {
            n: notebook.folder for n, notebook in self.notebooks.copy().items() if notebook.seen
        }

    def close(self) -> None:
        """End streams, jobs and flights."""
        self.hub.close()
        self.jobs.close()
        for notebook in self.notebooks.values():
            notebook.close()


def make_app(root: Path, *, hosts: frozenset[str], upload_limit: int) -> Starlette:
    """The workbench as an ASGI application.

    Args:
        root: A case folder, or a folder of cases.
        hosts: Host headers that are answered.
        upload_limit: Bytes of an uploaded file.

    Returns:
        The application; `state.workbench` holds what it works with.

    Raises:
        NeutralPointError: `case-missing` where there is no such folder.
    """
    hub = Hub()
    notebooks: dict[str, Notebook] = {}

    def changed(case: str) -> None:
        if case in notebooks:
            notebooks[case].changed()

    jobs = Jobs(hub.tell, changed)
    bench = Workbench(root, notebooks, jobs, hub, Access(hosts, upload_limit))
    bench.folders()

    @contextlib.asynccontextmanager
    async def lifespan(_app: Starlette):
        tasks = [
            asyncio.create_task(watch(hub, bench.shown, changed)),
            asyncio.create_task(_tidied()),
        ]
        yield
        for task in tasks:
            task.cancel()
        await asyncio.to_thread(bench.close)

    app = Starlette(
        routes=_routes(bench),
        lifespan=lifespan,
        middleware=[Middleware(Guard, access=bench.access)],
        exception_handlers={HTTPException: _no_route},
    )
    app.state.workbench = bench
    return app


async def _tidied() -> None:
    """Hand what answers have needed back to the machine, again and again."""
    while True:
        await asyncio.sleep(TIDIED)
        await asyncio.to_thread(give_back)


def _routes(bench: Workbench) -> list[Route]:
    def page(path: str, make: Callable[[Request], Any]) -> Route:
        return Route(path, _answered(make), methods=["GET"])

    routes = [
        page("/", lambda _: _cases(bench)),
        page("/static/{name}", _static),
        page("/c/{case}/", lambda request: _notebook(bench, request)),
        page("/c/{case}/report", lambda r: sealed_page(_result(bench, r, "report.html"))),
        page(
            "/c/{case}/results/{name}",
            lambda r: download(_result(bench, r, r.path_params["name"])),
        ),
        page("/events", lambda _: StreamingResponse(bench.hub.stream(), media_type=EVENTS)),
        Route("/cases", _answered(_beginner(bench)), methods=["POST"]),
        Route("/cases", _answered(_taker(bench)), methods=["PUT"]),
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
        if not bench.root.is_dir():
            raise gone(bench.root)
        bench.folders()
    if name not in bench.notebooks:
        raise missing(f"There is no case {name[:60]!r} here.", "case")
    notebook = bench.notebooks[name]
    refuse_links(notebook.folder)
    if not is_case(notebook.folder):
        raise gone(notebook.folder)
    return notebook


def _cases(bench: Workbench) -> Response:
    if not bench.root.is_dir():
        raise gone(bench.root)
    alone = is_case(bench.root)
    return HTMLResponse(cases_page(bench.folders(), None if alone else bench.access.token))


def _beginner(bench: Workbench) -> Callable[[Request], Awaitable[Any]]:
    """The endpoint that makes a new case in the folder of cases."""

    async def begin(request: Request) -> Any:
        body = await read_json(request)
        if is_case(bench.root):
            raise missing("A case alone is served here, no folder of cases.", "cases")
        if not bench.root.is_dir():
            raise gone(bench.root)
        if body.get("example") is True:
            folder = await run_in_threadpool(begin_example, bench.root)
        else:
            given = (wanted(body, key, str) for key in ("name", "title", "question"))
            folder = await run_in_threadpool(begin_case, bench.root, *given)
        await run_in_threadpool(bench.folders)
        return {"case": folder.name}

    return begin


def _taker(bench: Workbench) -> Callable[[Request], Awaitable[Any]]:
    """The endpoint that takes in a case packed into one archive."""

    async def take(request: Request) -> Any:
        if is_case(bench.root):
            raise missing("A case alone is served here, no folder of cases.", "cases")
        archive = await read_file(request, bench.root, bench.access.upload_limit)
        try:
            folder = await run_in_threadpool(unpack_case, archive, bench.root)
        finally:
            archive.unlink(missing_ok=True)
        await run_in_threadpool(bench.folders)
        return {"case": folder.name}

    return take


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


async def _no_route(_request: Request, fault: Exception) -> Response:
    """Addresses and methods that do not exist, in the same four fields."""
    status = fault.status_code if isinstance(fault, HTTPException) else 404
    if status == 405:
        error = NeutralPointError(
            "request-invalid",
            "The address does not take this method.",
            where="method",
            hint="Load the page again.",
        )
    else:
        error = missing("There is nothing at this address.", "address")
    response = failure(error)
    response.status_code = status
    return response
