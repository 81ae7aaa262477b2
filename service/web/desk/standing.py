"""Where a title stands, changed by hand: passed for press, waiting for the author, withdrawn, taken up again."""

from __future__ import annotations

from flask import redirect, request, url_for
from flask.typing import ResponseReturnValue

from service.access import manages
from service.desk.passing import refuse_unless_inspected
from service.desk.taking_in import refusals
from service.house import store
from service.problems import Problem
from service.web.desk.titles import title_page
from service.web.desk.visiting import act_as, own_title
from service.web.room import blueprint
from service.web.visitor import owner
from worker.store.title_models import TO_BE_LOOKED_AT, WAITING_FOR_AUTHOR, WITHDRAWN

__all__ = ["pass_for_press", "stand"]

BY_HAND = {WAITING_FOR_AUTHOR, TO_BE_LOOKED_AT, WITHDRAWN}


@blueprint.post("/titles/<title_id>/pass")
@manages
def pass_for_press(title_id: str) -> ResponseReturnValue:
    """Pass the file that the form was shown with."""
    row = own_title(title_id)
    by = act_as(request.form.get("by", ""))
    if by is None:
        return title_page(row, "Say who passes it: whoever prints it may ask.", 422)
    sha256 = request.form.get("sha256", "")
    try:
        with refusals():
            refuse_unless_inspected(store(), row, sha256)
            store().titles.pass_for_press(row.id, owner(), sha256=sha256, by=by)
    except Problem as problem:
        return title_page(own_title(title_id), problem.detail, problem.kind.status)
    return redirect(url_for("web.title", title_id=row.id), 303)


@blueprint.post("/titles/<title_id>/standing")
@manages
def stand(title_id: str) -> ResponseReturnValue:
    """Any standing but passed."""
    row = own_title(title_id)
    wanted = request.form.get("standing", "")
    found = next((standing for standing in BY_HAND if standing == wanted), None)
    if found is None:
        return title_page(row, "Choose where the title stands by one of the buttons.", 422)
    with refusals():
        store().titles.stand(row.id, owner(), found)
    return redirect(url_for("web.title", title_id=row.id), 303)
