import django.core.serializers.json
import django.db.models.deletion
import pgtrigger.compiler
import pgtrigger.migrations
from django.conf import settings
from django.db import migrations, models
from rotas.additive import AdditiveMigration


class Migration(AdditiveMigration):

    replaces = [
        ('dispatch', '0001_initial'),
        ('dispatch', '0002_initial'),
    ]

    initial = True

    dependencies = [
        ('cases', '0001_first_release'),
        ('pghistory', '0007_auto_20250421_0444'),
        ('rotas', '0001_first_release'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Offer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.PositiveSmallIntegerField(default=1)),
                ('state', models.CharField(choices=[('open', 'open'), ('accepted', 'accepted'), ('declined', 'declined'), ('lapsed', 'lapsed'), ('withdrawn', 'withdrawn')], default='open', max_length=10)),
                ('made_at', models.DateTimeField()),
                ('lapses_at', models.DateTimeField()),
                ('answered_at', models.DateTimeField(blank=True, null=True)),
                ('decline_reason', models.CharField(blank=True, choices=[('on_a_job', 'already on a job'), ('too_far', 'too far'), ('kit_missing', 'kit missing'), ('skill', 'not my skill'), ('too_tired', 'too tired'), ('unsafe', 'unsafe'), ('conflict', 'conflict'), ('unwell', 'unwell'), ('no_reason', 'no reason given')], max_length=12)),
                ('decline_note', models.TextField(blank=True)),
                ('why', models.TextField(blank=True, help_text='Why this vet, as shown to them.')),
                ('eta', models.DateTimeField(blank=True, null=True)),
                ('call', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='offers', to='cases.call')),
                ('exception', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.restexception')),
                ('made_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('practice', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice')),
                ('vet', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='offers', to='rotas.vet')),
                ('visit', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='offer', to='cases.visit')),
            ],
        ),
        migrations.CreateModel(
            name='Plan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('made_at', models.DateTimeField()),
                ('because', models.CharField(help_text='What set the planning off.', max_length=200)),
                ('status', models.CharField(max_length=12)),
                ('sentence', models.TextField()),
                ('inputs', models.JSONField(encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('answer', models.JSONField(encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('solve_seconds', models.FloatField()),
                ('travel_label', models.CharField(max_length=160)),
                ('practice', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice')),
            ],
        ),
        migrations.CreateModel(
            name='OfferEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('place', models.PositiveSmallIntegerField(default=1)),
                ('state', models.CharField(choices=[('open', 'open'), ('accepted', 'accepted'), ('declined', 'declined'), ('lapsed', 'lapsed'), ('withdrawn', 'withdrawn')], default='open', max_length=10)),
                ('made_at', models.DateTimeField()),
                ('lapses_at', models.DateTimeField()),
                ('answered_at', models.DateTimeField(blank=True, null=True)),
                ('decline_reason', models.CharField(blank=True, choices=[('on_a_job', 'already on a job'), ('too_far', 'too far'), ('kit_missing', 'kit missing'), ('skill', 'not my skill'), ('too_tired', 'too tired'), ('unsafe', 'unsafe'), ('conflict', 'conflict'), ('unwell', 'unwell'), ('no_reason', 'no reason given')], max_length=12)),
                ('decline_note', models.TextField(blank=True)),
                ('why', models.TextField(blank=True, help_text='Why this vet, as shown to them.')),
                ('eta', models.DateTimeField(blank=True, null=True)),
                ('call', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='cases.call')),
                ('exception', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.restexception')),
                ('made_by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='dispatch.offer')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
                ('vet', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet')),
                ('visit', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='cases.visit')),
                ('plan', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='dispatch.plan')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='offer',
            name='plan',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='offers', to='dispatch.plan'),
        ),
        migrations.CreateModel(
            name='PlanTurn',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('asked', models.PositiveBigIntegerField(default=0)),
                ('answered', models.PositiveBigIntegerField(default=0)),
                ('asked_at', models.DateTimeField(blank=True, null=True)),
                ('because', models.CharField(blank=True, max_length=200)),
                ('failed_at', models.DateTimeField(blank=True, null=True)),
                ('failure', models.TextField(blank=True)),
                ('practice', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='plan_turn', to='rotas.practice')),
            ],
        ),
        migrations.CreateModel(
            name='PlanTurnEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('asked', models.PositiveBigIntegerField(default=0)),
                ('answered', models.PositiveBigIntegerField(default=0)),
                ('asked_at', models.DateTimeField(blank=True, null=True)),
                ('because', models.CharField(blank=True, max_length=200)),
                ('failed_at', models.DateTimeField(blank=True, null=True)),
                ('failure', models.TextField(blank=True)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='dispatch.planturn')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddIndex(
            model_name='plan',
            index=models.Index(fields=['practice', '-made_at'], name='dispatch_pl_practic_d9338a_idx'),
        ),
        migrations.AddConstraint(
            model_name='plan',
            constraint=models.CheckConstraint(condition=models.Q(('solve_seconds__gte', 0)), name='plan_seconds_real'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='offerevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='ec8b320f7262d07ffd29c9c917465f12962d25e5', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_1f36d', table='dispatch_offerevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='offerevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='c099ef19295e0d41a40e1ea6ae99a10ad887c797', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_25d6a', table='dispatch_offerevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='offer',
            index=models.Index(fields=['state', 'lapses_at'], name='dispatch_of_state_a1093d_idx'),
        ),
        migrations.AddIndex(
            model_name='offer',
            index=models.Index(fields=['vet', 'state'], name='dispatch_of_vet_id_37acc6_idx'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'open')), fields=('call', 'place'), name='offer_one_open_per_place'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'open')), fields=('call', 'vet'), name='offer_one_open_per_vet'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.CheckConstraint(condition=models.Q(('place__in', (1, 2))), name='offer_place_one_or_two'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.CheckConstraint(condition=models.Q(('lapses_at__gt', models.F('made_at'))), name='offer_lapses_after_made'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('answered_at__isnull', True), ('state', 'open')), models.Q(models.Q(('state', 'open'), _negated=True), ('answered_at__isnull', False)), _connector='OR'), name='offer_answered_has_a_time'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'declined'), _negated=True), models.Q(('decline_reason', ''), _negated=True), _connector='OR'), name='offer_declined_has_a_reason'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'accepted'), _negated=True), ('visit__isnull', False), _connector='OR'), name='offer_accepted_has_a_visit'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='offer',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "dispatch_offerevent" ("answered_at", "call_id", "decline_note", "decline_reason", "eta", "exception_id", "id", "lapses_at", "made_at", "made_by_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "place", "plan_id", "practice_id", "state", "vet_id", "visit_id", "why") VALUES (NEW."answered_at", NEW."call_id", NEW."decline_note", NEW."decline_reason", NEW."eta", NEW."exception_id", NEW."id", NEW."lapses_at", NEW."made_at", NEW."made_by_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."place", NEW."plan_id", NEW."practice_id", NEW."state", NEW."vet_id", NEW."visit_id", NEW."why"); RETURN NULL;', hash='42a5b5f1836489cc72dd8952bb009119fbc3de5c', operation='INSERT', pgid='pgtrigger_insert_insert_66d9c', table='dispatch_offer', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='offer',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "dispatch_offerevent" ("answered_at", "call_id", "decline_note", "decline_reason", "eta", "exception_id", "id", "lapses_at", "made_at", "made_by_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "place", "plan_id", "practice_id", "state", "vet_id", "visit_id", "why") VALUES (NEW."answered_at", NEW."call_id", NEW."decline_note", NEW."decline_reason", NEW."eta", NEW."exception_id", NEW."id", NEW."lapses_at", NEW."made_at", NEW."made_by_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."place", NEW."plan_id", NEW."practice_id", NEW."state", NEW."vet_id", NEW."visit_id", NEW."why"); RETURN NULL;', hash='2d8ee04d3eadd348dd894e1d5c04d13634615969', operation='UPDATE', pgid='pgtrigger_update_update_f46e9', table='dispatch_offer', when='AFTER')),
        ),
        migrations.AddConstraint(
            model_name='planturn',
            constraint=models.CheckConstraint(condition=models.Q(('answered__lte', models.F('asked'))), name='turn_answers_what_was_asked'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='planturn',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "dispatch_planturnevent" ("answered", "asked", "asked_at", "because", "failed_at", "failure", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id") VALUES (NEW."answered", NEW."asked", NEW."asked_at", NEW."because", NEW."failed_at", NEW."failure", NEW."id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id"); RETURN NULL;', hash='20897852177e98af254b233edbed2e1b475c0d8e', operation='INSERT', pgid='pgtrigger_insert_insert_65a3b', table='dispatch_planturn', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='planturn',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "dispatch_planturnevent" ("answered", "asked", "asked_at", "because", "failed_at", "failure", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id") VALUES (NEW."answered", NEW."asked", NEW."asked_at", NEW."because", NEW."failed_at", NEW."failure", NEW."id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id"); RETURN NULL;', hash='1105b2fb751ec02c91bca94385b0631a0629825c', operation='UPDATE', pgid='pgtrigger_update_update_64d0e', table='dispatch_planturn', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='planturnevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='d1cb9d022c574cd9a70cd385a7722b2c323352ae', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_a2388', table='dispatch_planturnevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='planturnevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='027bd49fe0ae5e3f31bac155339bdb75dc610abe', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_36e4e', table='dispatch_planturnevent', when='BEFORE')),
        ),
    ]
