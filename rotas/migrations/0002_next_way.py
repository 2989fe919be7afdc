import django.db.models.deletion
import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations, models
from rotas.additive import AdditiveMigration


class Migration(AdditiveMigration):

    dependencies = [
        ('pghistory', '0007_auto_20250421_0444'),
        ('rotas', '0001_first_release'),
    ]

    operations = [
        migrations.CreateModel(
            name='NextWay',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('channel', models.CharField(choices=[('email', 'e-mail'), ('text', 'text message'), ('push', 'push notice'), ('call', 'telephone')], max_length=8)),
                ('address', models.CharField(max_length=254)),
                ('looked_at', models.DateTimeField(blank=True, null=True)),
                ('follow_up', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='instead_of', to='rotas.outboxmessage')),
                ('message', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='next_way', to='rotas.outboxmessage')),
                ('practice', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice')),
            ],
        ),
        migrations.CreateModel(
            name='NextWayEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('channel', models.CharField(choices=[('email', 'e-mail'), ('text', 'text message'), ('push', 'push notice'), ('call', 'telephone')], max_length=8)),
                ('address', models.CharField(max_length=254)),
                ('looked_at', models.DateTimeField(blank=True, null=True)),
                ('follow_up', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.outboxmessage')),
                ('message', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.outboxmessage')),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.nextway')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddConstraint(
            model_name='nextway',
            constraint=models.CheckConstraint(condition=models.Q(('follow_up__isnull', True), ('looked_at__isnull', False), _connector='OR'), name='next_way_taken_has_a_time'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='nextway',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_nextwayevent" ("address", "channel", "follow_up_id", "id", "looked_at", "message_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id") VALUES (NEW."address", NEW."channel", NEW."follow_up_id", NEW."id", NEW."looked_at", NEW."message_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id"); RETURN NULL;', hash='6b89d30d9d5686d6dddb1c9f5c4d2a1eeb9731e1', operation='INSERT', pgid='pgtrigger_insert_insert_23023', table='rotas_nextway', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='nextway',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_nextwayevent" ("address", "channel", "follow_up_id", "id", "looked_at", "message_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id") VALUES (NEW."address", NEW."channel", NEW."follow_up_id", NEW."id", NEW."looked_at", NEW."message_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id"); RETURN NULL;', hash='47bc6b3f879b26e660a49e5c6cbeb80a578a14b1', operation='UPDATE', pgid='pgtrigger_update_update_5b81e', table='rotas_nextway', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='nextwayevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='5cc3c9bdac860fb3b5c7576f31727977b602207d', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_7931d', table='rotas_nextwayevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='nextwayevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='195e6a80d23ccbc1d8c63604364213a073b2ea1b', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_7fd4a', table='rotas_nextwayevent', when='BEFORE')),
        ),
    ]
