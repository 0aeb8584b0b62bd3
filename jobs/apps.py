from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "jobs"
    verbose_name = "Jobs"

    def ready(self) -> None:
        from jobs.board.stages import STAGE_ROOMS
        from jobs.job.stages import install

        install(STAGE_ROOMS)
