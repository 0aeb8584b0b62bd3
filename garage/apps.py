from django.apps import AppConfig


class GarageConfig(AppConfig):
    name = "garage"
    verbose_name = "Workshop"

    def ready(self) -> None:
        from garage.arrivals.tasks import put_in_removal
        from garage.background import schedule
        from garage.backup.tasks import put_in_tonights, put_in_what_was_not_sent
        from garage.site import form_words

        form_words.install()
        schedule.install(put_in_tonights, put_in_what_was_not_sent, put_in_removal)
