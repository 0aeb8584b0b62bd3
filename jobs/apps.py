from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "jobs"
    verbose_name = "Jobs"

    def ready(self) -> None:
        from garage.background import schedule
        from garage.vehicles import car_now
        from jobs.board.car_now import car_now as tell_of_car
        from jobs.board.readers import READERS
        from jobs.board.stages import STAGE_ROOMS
        from jobs.checklists import readers
        from jobs.job import stages
        from jobs.privacy.tasks import put_in_what_was_cut_off

        stages.install(STAGE_ROOMS)
        readers.install(READERS)
        schedule.install(put_in_what_was_cut_off)
        car_now.install(tell_of_car)
