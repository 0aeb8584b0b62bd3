from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "jobs"
    verbose_name = "Jobs"

    def ready(self) -> None:
        from jobs.board.readers import READERS
        from jobs.board.stages import STAGE_ROOMS
        from jobs.checklists import readers
        from jobs.job import stages

        stages.install(STAGE_ROOMS)
        readers.install(READERS)
