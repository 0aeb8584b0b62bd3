"""The registry of stages: which room answers for which."""

from jobs.checklists import queries as checklists
from jobs.fitting import queries as fitting
from jobs.handover import queries as handover
from jobs.inspection import queries as inspection
from jobs.job.models import Stage
from jobs.job.stages import StageRoom, booking_progress
from jobs.maps import queries as maps
from jobs.roadtest import queries as roadtest
from jobs.strobe import queries as strobe

# The booking's page is the job card itself.
STAGE_ROOMS: dict[Stage, StageRoom] = {
    Stage.BOOKED: StageRoom(booking_progress, "board:job"),
    Stage.INSPECTION: StageRoom(inspection.progress, "inspection:page", (*inspection.PREFETCH, *checklists.PREFETCH)),
    Stage.FITTING: StageRoom(fitting.progress, "fitting:page", (*checklists.PREFETCH, *strobe.PREFETCH)),
    Stage.BASE_TIMING: StageRoom(strobe.progress, "strobe:page", strobe.PREFETCH),
    Stage.MAP: StageRoom(maps.progress, "maps:page", maps.PREFETCH),
    Stage.ROAD_TEST: StageRoom(roadtest.progress, "roadtest:page", roadtest.PREFETCH),
    Stage.HANDOVER: StageRoom(handover.progress, "handover:page", handover.PREFETCH),
    Stage.AFTER_CARE: StageRoom(handover.after_care_progress, "handover:after-care", handover.PREFETCH_AFTER_CARE),
}
