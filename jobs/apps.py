from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "jobs"
    verbose_name = "Jobs"

    def ready(self) -> None:
        from garage.vehicles import car_now
        from jobs.board.car_now import car_now as tell_of_car
        from jobs.board.readers import READERS
        from jobs.board.stages import STAGE_ROOMS
        from jobs.checklists import readers
        from jobs.job import stages

        stages.install(STAGE_ROOMS)
        readers.install(READERS)
        car_now.install(tell_of_car)
