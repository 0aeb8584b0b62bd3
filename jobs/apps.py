from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "jobs"
    verbose_name = "Jobs"

    def ready(self) -> None:
        from garage.background import schedule
        from garage.vehicles import car_now
        from jobs.billing.link_views import BILLS_OF_THE_CUSTOMER
        from jobs.board.car_now import car_now as tell_of_car
        from jobs.board.readers import READERS
        from jobs.board.stages import STAGE_ROOMS
        from jobs.checklists import readers
        from jobs.documents import link_pages
        from jobs.finding.tasks import put_in_putting_together
        from jobs.job import stages
        from jobs.post.left_behind import LOOKED_FOR_EVERY, take_up_what_was_left_behind
        from jobs.privacy.tasks import put_in_what_was_cut_off
        from jobs.quotes.link_views import QUOTES_OF_THE_CUSTOMER

        stages.install(STAGE_ROOMS)
        link_pages.install(QUOTES_OF_THE_CUSTOMER, BILLS_OF_THE_CUSTOMER)
        readers.install(READERS)
        schedule.install(put_in_what_was_cut_off)
        schedule.install(take_up_what_was_left_behind, put_in_putting_together, every=LOOKED_FOR_EVERY)
        car_now.install(tell_of_car)
