import datetime
import django.contrib.auth.validators
import django.contrib.postgres.constraints
import django.contrib.postgres.fields
import django.contrib.postgres.fields.ranges
import django.core.serializers.json
import django.core.validators
import django.db.models.deletion
import django.db.models.expressions
import django.db.models.lookups
import django.utils.timezone
import pgtrigger.compiler
import pgtrigger.migrations
import phonenumber_field.modelfields
import rotas.models.member
import rotas.models.practice
import rotas.models.vet
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models
from rotas.additive import AdditiveMigration


class Migration(AdditiveMigration):

    replaces = [
        ('rotas', '0001_initial'),
        ('rotas', '0002_outbox_perhaps_sent'),
        ('rotas', '0003_night_is_not_day'),
        ('rotas', '0004_vet_on_the_rota'),
        ('rotas', '0005_rota_tables'),
        ('rotas', '0006_calendar_feeds'),
        ('rotas', '0007_shift_site'),
        ('rotas', '0008_report_notes'),
        ('rotas', '0009_tiredness_reports'),
        ('rotas', '0010_shift_day'),
        ('rotas', '0011_rest_choices'),
        ('rotas', '0012_message_channels'),
        ('rotas', '0013_receipts_replies_reach'),
    ]

    initial = True

    dependencies = [
        ('auth', '0012_alter_user_first_name_max_length'),
        ('pghistory', '0007_auto_20250421_0444'),
    ]

    operations = [
        migrations.CreateModel(
            name='CoverNeed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('role', models.CharField(choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6)),
                ('weekdays', django.contrib.postgres.fields.ArrayField(base_field=models.PositiveSmallIntegerField(), size=None)),
                ('starts', models.TimeField()),
                ('ends', models.TimeField()),
                ('wanted', models.PositiveSmallIntegerField(default=1)),
                ('from_month', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('from_day', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('until_month', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('until_day', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('bank_holiday', models.BooleanField(blank=True, null=True)),
                ('site', models.CharField(blank=True, max_length=60)),
                ('at_workplace', models.BooleanField(default=False)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='DraftDuty',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('role', models.CharField(choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6)),
                ('period', django.contrib.postgres.fields.ranges.DateTimeRangeField()),
                ('site', models.CharField(blank=True, max_length=60)),
                ('at_workplace', models.BooleanField(default=False)),
                ('by_hand', models.BooleanField(default=False)),
                ('gap_reason', models.TextField(blank=True)),
                ('ways_out', models.JSONField(blank=True, default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
            ],
        ),
        migrations.CreateModel(
            name='DutyRecord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('call_out', 'call-out'), ('drive_home', 'drive home'), ('phone_advice', 'telephone advice'), ('workplace', 'at the practice')], max_length=12)),
                ('period', django.contrib.postgres.fields.ranges.DateTimeRangeField()),
                ('source', models.CharField(max_length=60)),
                ('drive_km', models.DecimalField(blank=True, decimal_places=1, max_digits=6, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='Kit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=40)),
                ('label', models.CharField(blank=True, max_length=60)),
                ('place', models.CharField(choices=[('car', 'in the car'), ('base', 'at the practice')], default='car', max_length=4)),
                ('state', models.CharField(choices=[('ready', 'ready'), ('used', 'used'), ('sterilising', 'being sterilised')], default='ready', max_length=12)),
                ('ready_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='NamedSecond',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('starts_on', models.DateField(blank=True, null=True)),
                ('ends_on', models.DateField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='Neighbour',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120)),
                ('phone', phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None)),
                ('skills', models.JSONField(blank=True, default=list)),
                ('minutes_away', models.PositiveSmallIntegerField(default=45)),
            ],
        ),
        migrations.CreateModel(
            name='NotAvailableFor',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('skill', models.CharField(blank=True, max_length=40)),
                ('complaint', models.CharField(blank=True, max_length=60)),
                ('starts_on', models.DateField(blank=True, null=True)),
                ('ends_on', models.DateField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='NotOn',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('weekday', models.PositiveSmallIntegerField(blank=True, null=True, validators=[django.core.validators.MaxValueValidator(6)])),
                ('role', models.CharField(blank=True, choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6)),
                ('starts_on', models.DateField(blank=True, null=True)),
                ('ends_on', models.DateField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='PracticeEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('name', models.CharField(max_length=120)),
                ('slug', models.SlugField(db_index=False)),
                ('phone', phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None)),
                ('email', models.EmailField(blank=True, max_length=254)),
                ('time_zone', models.CharField(default='Europe/London', max_length=60, validators=[rotas.models.practice.require_time_zone])),
                ('country', models.CharField(default='GB', help_text='ISO 3166-1, for bank holidays.', max_length=2)),
                ('country_part', models.CharField(blank=True, help_text='ISO 3166-2 part, such as ENG.', max_length=6)),
                ('jurisdiction', models.CharField(choices=[('EU', 'European Union'), ('GB', 'Great Britain'), ('US', 'United States')], default='GB', max_length=2)),
                ('rest_rule_set', models.CharField(default='practice', max_length=40)),
                ('daily_rest_reading', models.CharField(choices=[('gap', 'between duties'), ('window24', 'in any 24 hours')], default='gap', max_length=10)),
                ('standby_in_full', models.BooleanField(default=False, help_text='On call at home counts in full: answering leaves no free use of the time.')),
                ('night_rules_replace_daily', models.BooleanField(default=False, help_text='A night on call at home is judged by the on-call rules, not by daily rest.')),
                ('rest_figures', models.JSONField(blank=True, default=dict, help_text="The practice's own figures by rule, in the rule's unit.")),
                ('base_latitude', models.FloatField(validators=[django.core.validators.MinValueValidator(-90), django.core.validators.MaxValueValidator(90)])),
                ('base_longitude', models.FloatField(validators=[django.core.validators.MinValueValidator(-180), django.core.validators.MaxValueValidator(180)])),
                ('road_network', models.CharField(blank=True, help_text="File with the practice's roads; blank: straight lines.", max_length=200)),
                ('road_factor', models.DecimalField(decimal_places=2, default=1.3, max_digits=4)),
                ('road_speed_kmh', models.PositiveSmallIntegerField(default=55)),
                ('arrive_immediate_min', models.PositiveSmallIntegerField(default=60)),
                ('arrive_urgent_min', models.PositiveSmallIntegerField(default=180)),
                ('arrive_same_day_min', models.PositiveSmallIntegerField(default=480)),
                ('advice_day_min', models.PositiveSmallIntegerField(default=120)),
                ('offer_lapse_immediate_min', models.PositiveSmallIntegerField(default=5)),
                ('offer_lapse_other_min', models.PositiveSmallIntegerField(default=15)),
                ('day_from', models.TimeField(default=datetime.time(8, 0))),
                ('night_from', models.TimeField(default=datetime.time(18, 0))),
                ('quiet_from', models.TimeField(default=datetime.time(20, 0), help_text='No reminder is sent from here ...')),
                ('quiet_until', models.TimeField(default=datetime.time(6, 0), help_text='... until here.')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Reach',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('channel', models.CharField(choices=[('email', 'e-mail'), ('text', 'text message'), ('push', 'push notice'), ('call', 'telephone')], max_length=8)),
                ('address', models.CharField(help_text='E-mail address, or E.164 number.', max_length=254)),
                ('from_clock', models.TimeField(blank=True, null=True)),
                ('until_clock', models.TimeField(blank=True, null=True)),
                ('order', models.PositiveSmallIntegerField(default=1)),
                ('made_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='ReachEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('channel', models.CharField(choices=[('email', 'e-mail'), ('text', 'text message'), ('push', 'push notice'), ('call', 'telephone')], max_length=8)),
                ('address', models.CharField(help_text='E-mail address, or E.164 number.', max_length=254)),
                ('from_clock', models.TimeField(blank=True, null=True)),
                ('until_clock', models.TimeField(blank=True, null=True)),
                ('order', models.PositiveSmallIntegerField(default=1)),
                ('made_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Receipt',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=120)),
                ('about', models.CharField(max_length=140)),
                ('status', models.CharField(choices=[('delivered', 'delivered'), ('undelivered', 'not delivered')], max_length=12)),
                ('detail', models.TextField(blank=True)),
                ('happened_at', models.DateTimeField()),
                ('received_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='ReceiptEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('key', models.CharField(max_length=120)),
                ('about', models.CharField(max_length=140)),
                ('status', models.CharField(choices=[('delivered', 'delivered'), ('undelivered', 'not delivered')], max_length=12)),
                ('detail', models.TextField(blank=True)),
                ('happened_at', models.DateTimeField()),
                ('received_at', models.DateTimeField()),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Repair',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('period', django.contrib.postgres.fields.ranges.DateTimeRangeField()),
                ('state', models.CharField(choices=[('proposed', 'proposed'), ('accepted', 'accepted'), ('superseded', 'superseded')], default='proposed', max_length=10)),
                ('changes', models.JSONField(blank=True, default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('gaps', models.JSONField(blank=True, default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('broken', models.JSONField(blank=True, default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('sentence', models.TextField(blank=True)),
                ('made_at', models.DateTimeField()),
                ('accepted_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='RepairEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('period', django.contrib.postgres.fields.ranges.DateTimeRangeField()),
                ('state', models.CharField(choices=[('proposed', 'proposed'), ('accepted', 'accepted'), ('superseded', 'superseded')], default='proposed', max_length=10)),
                ('changes', models.JSONField(blank=True, default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('gaps', models.JSONField(blank=True, default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('broken', models.JSONField(blank=True, default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('sentence', models.TextField(blank=True)),
                ('made_at', models.DateTimeField()),
                ('accepted_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ReportNote',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('week', models.DateField(help_text='The Monday of the week that the note is about.')),
                ('text', models.CharField(max_length=280)),
                ('written_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='ReportNoteEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('week', models.DateField(help_text='The Monday of the week that the note is about.')),
                ('text', models.CharField(max_length=280)),
                ('written_at', models.DateTimeField()),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ReportSeen',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('first_day', models.DateField()),
                ('last_day', models.DateField()),
                ('seen_at', models.DateTimeField()),
                ('says', models.CharField(blank=True, max_length=280)),
            ],
        ),
        migrations.CreateModel(
            name='ReportSeenEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('first_day', models.DateField()),
                ('last_day', models.DateField()),
                ('seen_at', models.DateTimeField()),
                ('says', models.CharField(blank=True, max_length=280)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='RestException',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('approved_at', models.DateTimeField()),
                ('rule', models.CharField(max_length=60)),
                ('limit_at', models.DateTimeField(help_text='When the limit is reached.')),
                ('passed_by_min', models.PositiveIntegerField()),
                ('reason', models.TextField()),
                ('subject', models.CharField(help_text='What it was for, such as call:41.', max_length=60)),
            ],
        ),
        migrations.CreateModel(
            name='RestExceptionEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('approved_at', models.DateTimeField()),
                ('rule', models.CharField(max_length=60)),
                ('limit_at', models.DateTimeField(help_text='When the limit is reached.')),
                ('passed_by_min', models.PositiveIntegerField()),
                ('reason', models.TextField()),
                ('subject', models.CharField(help_text='What it was for, such as call:41.', max_length=60)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='RestOwed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('minutes', models.PositiveIntegerField()),
                ('because', models.TextField()),
                ('owed_from', models.DateTimeField()),
                ('due_by', models.DateTimeField()),
                ('taken_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='RestOwedEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('minutes', models.PositiveIntegerField()),
                ('because', models.TextField()),
                ('owed_from', models.DateTimeField()),
                ('due_by', models.DateTimeField()),
                ('taken_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Rota',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120)),
                ('first_day', models.DateField()),
                ('last_day', models.DateField()),
                ('state', models.CharField(choices=[('draft', 'draft'), ('published', 'published'), ('withdrawn', 'withdrawn')], default='draft', max_length=10)),
                ('made_at', models.DateTimeField()),
                ('published_at', models.DateTimeField(blank=True, null=True)),
                ('withdrawn_at', models.DateTimeField(blank=True, null=True)),
                ('build_state', models.CharField(choices=[('none', 'not built'), ('asked', 'being built'), ('done', 'built'), ('failed', 'could not be built')], default='none', max_length=6)),
                ('build_number', models.PositiveIntegerField(default=0)),
                ('build_asked_at', models.DateTimeField(blank=True, null=True)),
                ('build_seconds', models.FloatField(default=60)),
                ('built_at', models.DateTimeField(blank=True, null=True)),
                ('answer', models.JSONField(blank=True, default=dict, encoder=django.core.serializers.json.DjangoJSONEncoder)),
            ],
        ),
        migrations.CreateModel(
            name='RotaEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('name', models.CharField(max_length=120)),
                ('first_day', models.DateField()),
                ('last_day', models.DateField()),
                ('state', models.CharField(choices=[('draft', 'draft'), ('published', 'published'), ('withdrawn', 'withdrawn')], default='draft', max_length=10)),
                ('made_at', models.DateTimeField()),
                ('published_at', models.DateTimeField(blank=True, null=True)),
                ('withdrawn_at', models.DateTimeField(blank=True, null=True)),
                ('build_state', models.CharField(choices=[('none', 'not built'), ('asked', 'being built'), ('done', 'built'), ('failed', 'could not be built')], default='none', max_length=6)),
                ('build_number', models.PositiveIntegerField(default=0)),
                ('build_asked_at', models.DateTimeField(blank=True, null=True)),
                ('build_seconds', models.FloatField(default=60)),
                ('built_at', models.DateTimeField(blank=True, null=True)),
                ('answer', models.JSONField(blank=True, default=dict, encoder=django.core.serializers.json.DjangoJSONEncoder)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='RotaWish',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('role', models.CharField(blank=True, choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6)),
                ('wants', models.BooleanField(help_text='True: would like it. False: would rather not.')),
                ('weight', models.PositiveSmallIntegerField(default=1, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(3)])),
                ('made_at', models.DateTimeField()),
                ('withdrawn_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='RotaWishEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('day', models.DateField()),
                ('role', models.CharField(blank=True, choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6)),
                ('wants', models.BooleanField(help_text='True: would like it. False: would rather not.')),
                ('weight', models.PositiveSmallIntegerField(default=1, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(3)])),
                ('made_at', models.DateTimeField()),
                ('withdrawn_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Shift',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('role', models.CharField(choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6)),
                ('period', django.contrib.postgres.fields.ranges.DateTimeRangeField()),
                ('at_workplace', models.BooleanField(default=False)),
                ('site', models.CharField(blank=True, max_length=60)),
                ('day', models.DateField(blank=True, help_text="The rota's day, where that is not the day of the start.", null=True)),
                ('ended_at', models.DateTimeField(blank=True, help_text='Taken off the rota; never deleted.', null=True)),
            ],
        ),
        migrations.CreateModel(
            name='ShiftEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('role', models.CharField(choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6)),
                ('period', django.contrib.postgres.fields.ranges.DateTimeRangeField()),
                ('at_workplace', models.BooleanField(default=False)),
                ('site', models.CharField(blank=True, max_length=60)),
                ('day', models.DateField(blank=True, help_text="The rota's day, where that is not the day of the start.", null=True)),
                ('ended_at', models.DateTimeField(blank=True, help_text='Taken off the rota; never deleted.', null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Swap',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('state', models.CharField(choices=[('asked', 'asked'), ('accepted', 'accepted, the manager may still veto'), ('refused', 'refused'), ('approved', 'done'), ('vetoed', 'vetoed'), ('withdrawn', 'withdrawn'), ('lapsed', 'lapsed')], default='asked', max_length=10)),
                ('changes', models.JSONField(blank=True, default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('asked_at', models.DateTimeField()),
                ('answered_at', models.DateTimeField(blank=True, null=True)),
                ('veto_until', models.DateTimeField(blank=True, null=True)),
                ('decided_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='SwapEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('state', models.CharField(choices=[('asked', 'asked'), ('accepted', 'accepted, the manager may still veto'), ('refused', 'refused'), ('approved', 'done'), ('vetoed', 'vetoed'), ('withdrawn', 'withdrawn'), ('lapsed', 'lapsed')], default='asked', max_length=10)),
                ('changes', models.JSONField(blank=True, default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('asked_at', models.DateTimeField()),
                ('answered_at', models.DateTimeField(blank=True, null=True)),
                ('veto_until', models.DateTimeField(blank=True, null=True)),
                ('decided_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='TirednessReport',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('word', models.CharField(choices=[('fresh', 'fresh'), ('ok', 'ok'), ('tired', 'tired'), ('not_safe', 'not safe')], max_length=10)),
                ('hours_slept', models.DecimalField(blank=True, decimal_places=2, help_text='In quarters of an hour.', max_digits=4, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='Vet',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(help_text='Short name on the rota, such as V4.', max_length=8)),
                ('home_latitude', models.FloatField()),
                ('home_longitude', models.FloatField()),
                ('takes_urgent', models.BooleanField(default=True)),
                ('self_report', models.CharField(choices=[('fresh', 'fresh'), ('ok', 'ok'), ('tired', 'tired'), ('not_safe', 'not safe')], default='ok', max_length=10)),
                ('self_reported_at', models.DateTimeField(blank=True, null=True)),
                ('stood_down_until', models.DateTimeField(blank=True, null=True)),
                ('active', models.BooleanField(default=True)),
                ('contract_share', models.DecimalField(decimal_places=2, default=Decimal('1'), max_digits=3)),
                ('started_on', models.DateField(blank=True, null=True)),
                ('rota_roles', django.contrib.postgres.fields.ArrayField(base_field=models.CharField(choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6), blank=True, default=rotas.models.vet.every_role, size=None)),
                ('most_nights_running', models.PositiveSmallIntegerField(blank=True, help_text="Fewer than the practice's own limit; blank: that limit.", null=True)),
            ],
        ),
        migrations.CreateModel(
            name='VetEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('code', models.CharField(help_text='Short name on the rota, such as V4.', max_length=8)),
                ('home_latitude', models.FloatField()),
                ('home_longitude', models.FloatField()),
                ('takes_urgent', models.BooleanField(default=True)),
                ('self_report', models.CharField(choices=[('fresh', 'fresh'), ('ok', 'ok'), ('tired', 'tired'), ('not_safe', 'not safe')], default='ok', max_length=10)),
                ('self_reported_at', models.DateTimeField(blank=True, null=True)),
                ('stood_down_until', models.DateTimeField(blank=True, null=True)),
                ('active', models.BooleanField(default=True)),
                ('contract_share', models.DecimalField(decimal_places=2, default=Decimal('1'), max_digits=3)),
                ('started_on', models.DateField(blank=True, null=True)),
                ('rota_roles', django.contrib.postgres.fields.ArrayField(base_field=models.CharField(choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6), blank=True, default=rotas.models.vet.every_role, size=None)),
                ('most_nights_running', models.PositiveSmallIntegerField(blank=True, help_text="Fewer than the practice's own limit; blank: that limit.", null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='VetSkill',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('skill', models.CharField(max_length=40)),
                ('level', models.CharField(choices=[('solo', 'solo'), ('with_phone_support', 'with phone support'), ('with_second_present', 'with a second vet present'), ('no', 'no')], default='solo', max_length=20)),
                ('review_on', models.DateField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='VetSkillEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('skill', models.CharField(max_length=40)),
                ('level', models.CharField(choices=[('solo', 'solo'), ('with_phone_support', 'with phone support'), ('with_second_present', 'with a second vet present'), ('no', 'no')], default='solo', max_length=20)),
                ('review_on', models.DateField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Member',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('password', models.CharField(max_length=128, verbose_name='password')),
                ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                ('is_superuser', models.BooleanField(default=False, help_text='Designates that this user has all permissions without explicitly assigning them.', verbose_name='superuser status')),
                ('username', models.CharField(error_messages={'unique': 'A user with that username already exists.'}, help_text='Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.', max_length=150, unique=True, validators=[django.contrib.auth.validators.UnicodeUsernameValidator()], verbose_name='username')),
                ('first_name', models.CharField(blank=True, max_length=150, verbose_name='first name')),
                ('last_name', models.CharField(blank=True, max_length=150, verbose_name='last name')),
                ('email', models.EmailField(blank=True, max_length=254, verbose_name='email address')),
                ('is_staff', models.BooleanField(default=False, help_text='Designates whether the user can log into this admin site.', verbose_name='staff status')),
                ('is_active', models.BooleanField(default=True, help_text='Designates whether this user should be treated as active. Unselect this instead of deleting accounts.', verbose_name='active')),
                ('date_joined', models.DateTimeField(default=django.utils.timezone.now, verbose_name='date joined')),
                ('name', models.CharField(max_length=120)),
                ('roles', django.contrib.postgres.fields.ArrayField(base_field=models.CharField(choices=[('reception', 'reception'), ('vet', 'vet'), ('manager', 'manager')], max_length=12), blank=True, default=list, size=None)),
                ('phone', phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None)),
                ('groups', models.ManyToManyField(blank=True, help_text='The groups this user belongs to. A user will get all permissions granted to each of their groups.', related_name='user_set', related_query_name='user', to='auth.group', verbose_name='groups')),
                ('user_permissions', models.ManyToManyField(blank=True, help_text='Specific permissions for this user.', related_name='user_set', related_query_name='user', to='auth.permission', verbose_name='user permissions')),
            ],
            managers=[
                ('objects', rotas.models.member.MemberManager()),
            ],
        ),
        migrations.CreateModel(
            name='CalendarFeed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('secret_hash', models.CharField(max_length=64)),
                ('used_for', models.CharField(blank=True, help_text='Such as: my telephone.', max_length=60)),
                ('made_at', models.DateTimeField()),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('last_read_at', models.DateTimeField(blank=True, null=True)),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='GatewayKey',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('public_id', models.CharField(max_length=24, unique=True)),
                ('salt', models.CharField(max_length=64)),
                ('place', models.PositiveSmallIntegerField()),
                ('made_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='InboundMessage',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=120)),
                ('channel', models.CharField(choices=[('email', 'e-mail'), ('text', 'text message'), ('push', 'push notice'), ('call', 'telephone')], default='text', max_length=8)),
                ('from_address', models.CharField(max_length=254)),
                ('text', models.TextField()),
                ('written_at', models.DateTimeField()),
                ('received_at', models.DateTimeField()),
                ('state', models.CharField(choices=[('new', 'not looked at yet'), ('done', 'done by itself'), ('unread', 'nobody has read it'), ('read', 'read')], default='new', max_length=8)),
                ('handler', models.CharField(blank=True, max_length=60)),
                ('answer', models.TextField(blank=True)),
                ('read_at', models.DateTimeField(blank=True, null=True)),
                ('read_note', models.TextField(blank=True)),
                ('read_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Leave',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('first_day', models.DateField()),
                ('last_day', models.DateField()),
                ('state', models.CharField(choices=[('asked', 'asked for'), ('approved', 'approved'), ('refused', 'refused'), ('withdrawn', 'withdrawn')], default='asked', max_length=10)),
                ('asked_at', models.DateTimeField()),
                ('decided_at', models.DateTimeField(blank=True, null=True)),
                ('asked_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('decided_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='OutboxMessage',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=120)),
                ('recipient_name', models.CharField(blank=True, max_length=120)),
                ('channel', models.CharField(choices=[('email', 'e-mail'), ('text', 'text message'), ('push', 'push notice'), ('call', 'telephone')], default='email', max_length=8)),
                ('address', models.CharField(help_text='E-mail address, or E.164 number.', max_length=254)),
                ('subject', models.CharField(max_length=200)),
                ('body', models.TextField()),
                ('text', models.TextField(blank=True, help_text='Short form, for text messages.')),
                ('reply_code', models.CharField(blank=True, help_text='What the receiver writes with an answer.', max_length=12)),
                ('message_id', models.CharField(max_length=120, unique=True)),
                ('not_before', models.DateTimeField()),
                ('urgent', models.BooleanField(default=False, help_text='May be sent in the night hours.')),
                ('not_after', models.DateTimeField(blank=True, help_text='When it is of no more use, and is closed instead of sent.', null=True)),
                ('state', models.CharField(choices=[('waiting', 'waiting'), ('sending', 'being sent'), ('sent', 'sent'), ('delivered', 'delivered'), ('failed', 'failed'), ('undelivered', 'not delivered'), ('held', 'nobody can be told'), ('told', 'told by telephone'), ('closed', 'closed'), ('withdrawn', 'withdrawn')], default='waiting', max_length=12)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('claimed_at', models.DateTimeField(blank=True, null=True)),
                ('sent_at', models.DateTimeField(blank=True, null=True)),
                ('last_error', models.TextField(blank=True)),
                ('perhaps_sent', models.BooleanField(default=False, help_text='An earlier try may have arrived.')),
                ('edition', models.PositiveSmallIntegerField(default=1, help_text='Raised where a person sends it anew, so that it is no copy.')),
                ('gateway_reference', models.CharField(blank=True, max_length=120)),
                ('delivered_at', models.DateTimeField(blank=True, null=True)),
                ('cleared_at', models.DateTimeField(blank=True, null=True)),
                ('cleared_note', models.TextField(blank=True, help_text='Who was told, or why it is closed.')),
                ('cleared_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Practice',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120)),
                ('slug', models.SlugField(unique=True)),
                ('phone', phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None)),
                ('email', models.EmailField(blank=True, max_length=254)),
                ('time_zone', models.CharField(default='Europe/London', max_length=60, validators=[rotas.models.practice.require_time_zone])),
                ('country', models.CharField(default='GB', help_text='ISO 3166-1, for bank holidays.', max_length=2)),
                ('country_part', models.CharField(blank=True, help_text='ISO 3166-2 part, such as ENG.', max_length=6)),
                ('jurisdiction', models.CharField(choices=[('EU', 'European Union'), ('GB', 'Great Britain'), ('US', 'United States')], default='GB', max_length=2)),
                ('rest_rule_set', models.CharField(default='practice', max_length=40)),
                ('daily_rest_reading', models.CharField(choices=[('gap', 'between duties'), ('window24', 'in any 24 hours')], default='gap', max_length=10)),
                ('standby_in_full', models.BooleanField(default=False, help_text='On call at home counts in full: answering leaves no free use of the time.')),
                ('night_rules_replace_daily', models.BooleanField(default=False, help_text='A night on call at home is judged by the on-call rules, not by daily rest.')),
                ('rest_figures', models.JSONField(blank=True, default=dict, help_text="The practice's own figures by rule, in the rule's unit.")),
                ('base_latitude', models.FloatField(validators=[django.core.validators.MinValueValidator(-90), django.core.validators.MaxValueValidator(90)])),
                ('base_longitude', models.FloatField(validators=[django.core.validators.MinValueValidator(-180), django.core.validators.MaxValueValidator(180)])),
                ('road_network', models.CharField(blank=True, help_text="File with the practice's roads; blank: straight lines.", max_length=200)),
                ('road_factor', models.DecimalField(decimal_places=2, default=1.3, max_digits=4)),
                ('road_speed_kmh', models.PositiveSmallIntegerField(default=55)),
                ('arrive_immediate_min', models.PositiveSmallIntegerField(default=60)),
                ('arrive_urgent_min', models.PositiveSmallIntegerField(default=180)),
                ('arrive_same_day_min', models.PositiveSmallIntegerField(default=480)),
                ('advice_day_min', models.PositiveSmallIntegerField(default=120)),
                ('offer_lapse_immediate_min', models.PositiveSmallIntegerField(default=5)),
                ('offer_lapse_other_min', models.PositiveSmallIntegerField(default=15)),
                ('day_from', models.TimeField(default=datetime.time(8, 0))),
                ('night_from', models.TimeField(default=datetime.time(18, 0))),
                ('quiet_from', models.TimeField(default=datetime.time(20, 0), help_text='No reminder is sent from here ...')),
                ('quiet_until', models.TimeField(default=datetime.time(6, 0), help_text='... until here.')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('base_latitude__range', (-90, 90)), ('base_longitude__range', (-180, 180))), name='practice_base_on_earth'), models.CheckConstraint(condition=models.Q(('road_factor__gte', 1), ('road_speed_kmh__gt', 0)), name='practice_road_speed_real'), models.CheckConstraint(condition=models.Q(('arrive_immediate_min__gt', 0), ('offer_lapse_immediate_min__gt', 0), ('offer_lapse_other_min__gt', 0), ('arrive_urgent_min__gte', models.F('arrive_immediate_min')), ('arrive_same_day_min__gte', models.F('arrive_urgent_min'))), name='practice_targets_in_order'), models.CheckConstraint(condition=models.Q(('night_from', models.F('day_from')), _negated=True), name='practice_night_is_not_day')],
            },
        ),
        migrations.CreateModel(
            name='OutboxMessageEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('key', models.CharField(max_length=120)),
                ('recipient_name', models.CharField(blank=True, max_length=120)),
                ('channel', models.CharField(choices=[('email', 'e-mail'), ('text', 'text message'), ('push', 'push notice'), ('call', 'telephone')], default='email', max_length=8)),
                ('address', models.CharField(help_text='E-mail address, or E.164 number.', max_length=254)),
                ('subject', models.CharField(max_length=200)),
                ('body', models.TextField()),
                ('text', models.TextField(blank=True, help_text='Short form, for text messages.')),
                ('reply_code', models.CharField(blank=True, help_text='What the receiver writes with an answer.', max_length=12)),
                ('message_id', models.CharField(max_length=120)),
                ('not_before', models.DateTimeField()),
                ('urgent', models.BooleanField(default=False, help_text='May be sent in the night hours.')),
                ('not_after', models.DateTimeField(blank=True, help_text='When it is of no more use, and is closed instead of sent.', null=True)),
                ('state', models.CharField(choices=[('waiting', 'waiting'), ('sending', 'being sent'), ('sent', 'sent'), ('delivered', 'delivered'), ('failed', 'failed'), ('undelivered', 'not delivered'), ('held', 'nobody can be told'), ('told', 'told by telephone'), ('closed', 'closed'), ('withdrawn', 'withdrawn')], default='waiting', max_length=12)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('claimed_at', models.DateTimeField(blank=True, null=True)),
                ('sent_at', models.DateTimeField(blank=True, null=True)),
                ('last_error', models.TextField(blank=True)),
                ('perhaps_sent', models.BooleanField(default=False, help_text='An earlier try may have arrived.')),
                ('edition', models.PositiveSmallIntegerField(default=1, help_text='Raised where a person sends it anew, so that it is no copy.')),
                ('gateway_reference', models.CharField(blank=True, max_length=120)),
                ('delivered_at', models.DateTimeField(blank=True, null=True)),
                ('cleared_at', models.DateTimeField(blank=True, null=True)),
                ('cleared_note', models.TextField(blank=True, help_text='Who was told, or why it is closed.')),
                ('cleared_by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.outboxmessage')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='outboxmessage',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='NotOnEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('weekday', models.PositiveSmallIntegerField(blank=True, null=True, validators=[django.core.validators.MaxValueValidator(6)])),
                ('role', models.CharField(blank=True, choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6)),
                ('starts_on', models.DateField(blank=True, null=True)),
                ('ends_on', models.DateField(blank=True, null=True)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.noton')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='noton',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='NotAvailableForEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('skill', models.CharField(blank=True, max_length=40)),
                ('complaint', models.CharField(blank=True, max_length=60)),
                ('starts_on', models.DateField(blank=True, null=True)),
                ('ends_on', models.DateField(blank=True, null=True)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.notavailablefor')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='notavailablefor',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='NeighbourEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('name', models.CharField(max_length=120)),
                ('phone', phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None)),
                ('skills', models.JSONField(blank=True, default=list)),
                ('minutes_away', models.PositiveSmallIntegerField(default=45)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.neighbour')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='neighbour',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='NamedSecondEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('starts_on', models.DateField(blank=True, null=True)),
                ('ends_on', models.DateField(blank=True, null=True)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.namedsecond')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='namedsecond',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='MemberEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('is_superuser', models.BooleanField(default=False, help_text='Designates that this user has all permissions without explicitly assigning them.', verbose_name='superuser status')),
                ('username', models.CharField(error_messages={'unique': 'A user with that username already exists.'}, help_text='Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.', max_length=150, validators=[django.contrib.auth.validators.UnicodeUsernameValidator()], verbose_name='username')),
                ('first_name', models.CharField(blank=True, max_length=150, verbose_name='first name')),
                ('last_name', models.CharField(blank=True, max_length=150, verbose_name='last name')),
                ('email', models.EmailField(blank=True, max_length=254, verbose_name='email address')),
                ('is_staff', models.BooleanField(default=False, help_text='Designates whether the user can log into this admin site.', verbose_name='staff status')),
                ('is_active', models.BooleanField(default=True, help_text='Designates whether this user should be treated as active. Unselect this instead of deleting accounts.', verbose_name='active')),
                ('date_joined', models.DateTimeField(default=django.utils.timezone.now, verbose_name='date joined')),
                ('name', models.CharField(max_length=120)),
                ('roles', django.contrib.postgres.fields.ArrayField(base_field=models.CharField(choices=[('reception', 'reception'), ('vet', 'vet'), ('manager', 'manager')], max_length=12), blank=True, default=list, size=None)),
                ('phone', phonenumber_field.modelfields.PhoneNumberField(blank=True, max_length=128, region=None)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to=settings.AUTH_USER_MODEL)),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='LeaveEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('first_day', models.DateField()),
                ('last_day', models.DateField()),
                ('state', models.CharField(choices=[('asked', 'asked for'), ('approved', 'approved'), ('refused', 'refused'), ('withdrawn', 'withdrawn')], default='asked', max_length=10)),
                ('asked_at', models.DateTimeField()),
                ('decided_at', models.DateTimeField(blank=True, null=True)),
                ('asked_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL)),
                ('decided_by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.leave')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='leave',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='KitEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('kind', models.CharField(max_length=40)),
                ('label', models.CharField(blank=True, max_length=60)),
                ('place', models.CharField(choices=[('car', 'in the car'), ('base', 'at the practice')], default='car', max_length=4)),
                ('state', models.CharField(choices=[('ready', 'ready'), ('used', 'used'), ('sterilising', 'being sterilised')], default='ready', max_length=12)),
                ('ready_at', models.DateTimeField(blank=True, null=True)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.kit')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='kit',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='InboundMessageEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('key', models.CharField(max_length=120)),
                ('channel', models.CharField(choices=[('email', 'e-mail'), ('text', 'text message'), ('push', 'push notice'), ('call', 'telephone')], default='text', max_length=8)),
                ('from_address', models.CharField(max_length=254)),
                ('text', models.TextField()),
                ('written_at', models.DateTimeField()),
                ('received_at', models.DateTimeField()),
                ('state', models.CharField(choices=[('new', 'not looked at yet'), ('done', 'done by itself'), ('unread', 'nobody has read it'), ('read', 'read')], default='new', max_length=8)),
                ('handler', models.CharField(blank=True, max_length=60)),
                ('answer', models.TextField(blank=True)),
                ('read_at', models.DateTimeField(blank=True, null=True)),
                ('read_note', models.TextField(blank=True)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.inboundmessage')),
                ('read_by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL)),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='inboundmessage',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='GivenAnswer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=80)),
                ('request_hash', models.CharField(max_length=64)),
                ('status', models.PositiveSmallIntegerField(null=True)),
                ('body', models.JSONField(null=True)),
                ('made_at', models.DateTimeField()),
                ('member', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('practice', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice')),
            ],
        ),
        migrations.CreateModel(
            name='GatewayKeyEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('public_id', models.CharField(max_length=24)),
                ('salt', models.CharField(max_length=64)),
                ('place', models.PositiveSmallIntegerField()),
                ('made_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('made_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.gatewaykey')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='gatewaykey',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='DutyRecordEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('kind', models.CharField(choices=[('call_out', 'call-out'), ('drive_home', 'drive home'), ('phone_advice', 'telephone advice'), ('workplace', 'at the practice')], max_length=12)),
                ('period', django.contrib.postgres.fields.ranges.DateTimeRangeField()),
                ('source', models.CharField(max_length=60)),
                ('drive_km', models.DecimalField(blank=True, decimal_places=1, max_digits=6, null=True)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.dutyrecord')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='dutyrecord',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='DraftDutyEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('day', models.DateField()),
                ('role', models.CharField(choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6)),
                ('period', django.contrib.postgres.fields.ranges.DateTimeRangeField()),
                ('site', models.CharField(blank=True, max_length=60)),
                ('at_workplace', models.BooleanField(default=False)),
                ('by_hand', models.BooleanField(default=False)),
                ('gap_reason', models.TextField(blank=True)),
                ('ways_out', models.JSONField(blank=True, default=list, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.draftduty')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='draftduty',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='CoverNeedEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('role', models.CharField(choices=[('first', 'first on call'), ('second', 'second on call'), ('day', 'day vet')], max_length=6)),
                ('weekdays', django.contrib.postgres.fields.ArrayField(base_field=models.PositiveSmallIntegerField(), size=None)),
                ('starts', models.TimeField()),
                ('ends', models.TimeField()),
                ('wanted', models.PositiveSmallIntegerField(default=1)),
                ('from_month', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('from_day', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('until_month', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('until_day', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('bank_holiday', models.BooleanField(blank=True, null=True)),
                ('site', models.CharField(blank=True, max_length=60)),
                ('at_workplace', models.BooleanField(default=False)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.coverneed')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='coverneed',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='CalendarFeedEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('id', models.BigIntegerField()),
                ('used_for', models.CharField(blank=True, help_text='Such as: my telephone.', max_length=60)),
                ('made_at', models.DateTimeField()),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('made_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL)),
                ('pgh_context', models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context')),
                ('pgh_obj', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.calendarfeed')),
                ('practice', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='calendarfeed',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.CreateModel(
            name='AuditLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('written_at', models.DateTimeField(auto_now_add=True)),
                ('actor_name', models.CharField(help_text='As it was then, or the name of the process.', max_length=120)),
                ('verb', models.CharField(max_length=60)),
                ('subject', models.CharField(help_text='Such as call:41.', max_length=60)),
                ('sentence', models.TextField()),
                ('reason', models.TextField(blank=True)),
                ('before', models.JSONField(blank=True, default=dict, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('after', models.JSONField(blank=True, default=dict, encoder=django.core.serializers.json.DjangoJSONEncoder)),
                ('actor', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('practice', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice')),
            ],
        ),
        migrations.AddField(
            model_name='member',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='members', to='rotas.practice'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='practice',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_practiceevent" ("advice_day_min", "arrive_immediate_min", "arrive_same_day_min", "arrive_urgent_min", "base_latitude", "base_longitude", "country", "country_part", "daily_rest_reading", "day_from", "email", "id", "jurisdiction", "name", "night_from", "night_rules_replace_daily", "offer_lapse_immediate_min", "offer_lapse_other_min", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "phone", "quiet_from", "quiet_until", "rest_figures", "rest_rule_set", "road_factor", "road_network", "road_speed_kmh", "slug", "standby_in_full", "time_zone") VALUES (NEW."advice_day_min", NEW."arrive_immediate_min", NEW."arrive_same_day_min", NEW."arrive_urgent_min", NEW."base_latitude", NEW."base_longitude", NEW."country", NEW."country_part", NEW."daily_rest_reading", NEW."day_from", NEW."email", NEW."id", NEW."jurisdiction", NEW."name", NEW."night_from", NEW."night_rules_replace_daily", NEW."offer_lapse_immediate_min", NEW."offer_lapse_other_min", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."phone", NEW."quiet_from", NEW."quiet_until", NEW."rest_figures", NEW."rest_rule_set", NEW."road_factor", NEW."road_network", NEW."road_speed_kmh", NEW."slug", NEW."standby_in_full", NEW."time_zone"); RETURN NULL;', hash='ad4d89b773fc8f8838b718b1b3d62cf4715f7b4f', operation='INSERT', pgid='pgtrigger_insert_insert_65470', table='rotas_practice', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='practice',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_practiceevent" ("advice_day_min", "arrive_immediate_min", "arrive_same_day_min", "arrive_urgent_min", "base_latitude", "base_longitude", "country", "country_part", "daily_rest_reading", "day_from", "email", "id", "jurisdiction", "name", "night_from", "night_rules_replace_daily", "offer_lapse_immediate_min", "offer_lapse_other_min", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "phone", "quiet_from", "quiet_until", "rest_figures", "rest_rule_set", "road_factor", "road_network", "road_speed_kmh", "slug", "standby_in_full", "time_zone") VALUES (NEW."advice_day_min", NEW."arrive_immediate_min", NEW."arrive_same_day_min", NEW."arrive_urgent_min", NEW."base_latitude", NEW."base_longitude", NEW."country", NEW."country_part", NEW."daily_rest_reading", NEW."day_from", NEW."email", NEW."id", NEW."jurisdiction", NEW."name", NEW."night_from", NEW."night_rules_replace_daily", NEW."offer_lapse_immediate_min", NEW."offer_lapse_other_min", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."phone", NEW."quiet_from", NEW."quiet_until", NEW."rest_figures", NEW."rest_rule_set", NEW."road_factor", NEW."road_network", NEW."road_speed_kmh", NEW."slug", NEW."standby_in_full", NEW."time_zone"); RETURN NULL;', hash='84ec50b43a6856d3dca2b613cc0a00b6d76d0513', operation='UPDATE', pgid='pgtrigger_update_update_fcbf1', table='rotas_practice', when='AFTER')),
        ),
        migrations.AddField(
            model_name='practiceevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='practiceevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='reach',
            name='member',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reach', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='reach',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='reachevent',
            name='member',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='reachevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='reachevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.reach'),
        ),
        migrations.AddField(
            model_name='reachevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='receipt',
            name='message',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='receipts', to='rotas.outboxmessage'),
        ),
        migrations.AddField(
            model_name='receipt',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='receiptevent',
            name='message',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.outboxmessage'),
        ),
        migrations.AddField(
            model_name='receiptevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='receiptevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.receipt'),
        ),
        migrations.AddField(
            model_name='receiptevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='repair',
            name='accepted_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='repair',
            name='made_by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='repair',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='repairevent',
            name='accepted_by',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='repairevent',
            name='made_by',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='repairevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='repairevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.repair'),
        ),
        migrations.AddField(
            model_name='repairevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='reportnote',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='reportnote',
            name='written_by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='reportnoteevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='reportnoteevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.reportnote'),
        ),
        migrations.AddField(
            model_name='reportnoteevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='reportnoteevent',
            name='written_by',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='reportseen',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='reportseenevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='reportseenevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.reportseen'),
        ),
        migrations.AddField(
            model_name='reportseenevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='restexception',
            name='approved_by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='restexception',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='restexceptionevent',
            name='approved_by',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='restexceptionevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='restexceptionevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.restexception'),
        ),
        migrations.AddField(
            model_name='restexceptionevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='restowed',
            name='exception',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='owed', to='rotas.restexception'),
        ),
        migrations.AddField(
            model_name='restowed',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='restowed',
            name='taken_recorded_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='restowedevent',
            name='exception',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.restexception'),
        ),
        migrations.AddField(
            model_name='restowedevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='restowedevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.restowed'),
        ),
        migrations.AddField(
            model_name='restowedevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='restowedevent',
            name='taken_recorded_by',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='rota',
            name='made_by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='rota',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='rota',
            name='published_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='draftdutyevent',
            name='rota',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.rota'),
        ),
        migrations.AddField(
            model_name='draftduty',
            name='rota',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='duties', to='rotas.rota'),
        ),
        migrations.AddField(
            model_name='rotaevent',
            name='made_by',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='rotaevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='rotaevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.rota'),
        ),
        migrations.AddField(
            model_name='rotaevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='rotaevent',
            name='published_by',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='rotawish',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='rotawishevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='rotawishevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.rotawish'),
        ),
        migrations.AddField(
            model_name='rotawishevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='shift',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='draftdutyevent',
            name='shift',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.shift'),
        ),
        migrations.AddField(
            model_name='draftduty',
            name='shift',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.shift'),
        ),
        migrations.AddField(
            model_name='shiftevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='shiftevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.shift'),
        ),
        migrations.AddField(
            model_name='shiftevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='swap',
            name='decided_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='swap',
            name='in_return',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.shift'),
        ),
        migrations.AddField(
            model_name='swap',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='swap',
            name='shift',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='swaps', to='rotas.shift'),
        ),
        migrations.AddField(
            model_name='swapevent',
            name='decided_by',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='swapevent',
            name='in_return',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.shift'),
        ),
        migrations.AddField(
            model_name='swapevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='swapevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.swap'),
        ),
        migrations.AddField(
            model_name='swapevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='swapevent',
            name='shift',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.shift'),
        ),
        migrations.AddField(
            model_name='tirednessreport',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='vet',
            name='member',
            field=models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='vet', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='vet',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='tirednessreport',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='tiredness_reports', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='swapevent',
            name='from_vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='swapevent',
            name='to_vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='swap',
            name='from_vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='swaps_asked', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='swap',
            name='to_vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='swaps_to_answer', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='shiftevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='shift',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='shifts', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='rotawishevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='rotawish',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='rota_wishes', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='restowedevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='restowed',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='rest_owed', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='restexceptionevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='restexception',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='rest_exceptions', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='reportseenevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='reportseen',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reports_seen', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='reportnoteevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='reportnote',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='report_notes', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='repairevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='repair',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='notonevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='noton',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='not_on', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='notavailableforevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='notavailablefor',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='not_available_for', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='namedsecondevent',
            name='second',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='namedsecondevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='namedsecond',
            name='second',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='second_for', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='namedsecond',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='named_seconds', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='leaveevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='leave',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='leave', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='kitevent',
            name='vet',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='kit',
            name='vet',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='kit', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='dutyrecordevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='dutyrecord',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='duty_records', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='draftdutyevent',
            name='vet',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='draftduty',
            name='vet',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='calendarfeedevent',
            name='vet',
            field=models.ForeignKey(blank=True, db_constraint=False, help_text='Empty: the whole practice.', null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='calendarfeed',
            name='vet',
            field=models.ForeignKey(blank=True, help_text='Empty: the whole practice.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='calendar_feeds', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='vetevent',
            name='member',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='vetevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='vetevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='vetevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='vetskill',
            name='practice',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='vetskill',
            name='vet',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='skills', to='rotas.vet'),
        ),
        migrations.AddField(
            model_name='vetskillevent',
            name='pgh_context',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='pghistory.context'),
        ),
        migrations.AddField(
            model_name='vetskillevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='rotas.vetskill'),
        ),
        migrations.AddField(
            model_name='vetskillevent',
            name='practice',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.practice'),
        ),
        migrations.AddField(
            model_name='vetskillevent',
            name='vet',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='rotas.vet'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='outboxmessageevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='823fd9bdee9f0e7972a8d2e0d5998faf60b2ffe3', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_a276e', table='rotas_outboxmessageevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='outboxmessageevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='81ade4af9a6c9affc426143e0bdee5b19cbe0c37', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_393c3', table='rotas_outboxmessageevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='outboxmessage',
            index=models.Index(fields=['state', '-urgent', 'not_before'], name='message_next'),
        ),
        migrations.AddIndex(
            model_name='outboxmessage',
            index=models.Index(fields=['practice', 'state'], name='message_standing'),
        ),
        migrations.AddConstraint(
            model_name='outboxmessage',
            constraint=models.UniqueConstraint(fields=('practice', 'key'), name='message_once_per_cause'),
        ),
        migrations.AddConstraint(
            model_name='outboxmessage',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'sent'), _negated=True), ('sent_at__isnull', False), _connector='OR'), name='message_sent_has_a_time'),
        ),
        migrations.AddConstraint(
            model_name='outboxmessage',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state__in', ('told', 'closed')), _negated=True), models.Q(('cleared_at__isnull', False), models.Q(('cleared_note', ''), _negated=True)), _connector='OR'), name='message_cleared_says_how'),
        ),
        migrations.AddConstraint(
            model_name='outboxmessage',
            constraint=models.CheckConstraint(condition=models.Q(('channel', 'call'), ('state__in', ('waiting', 'sending', 'sent', 'delivered')), _negated=True), name='message_to_ring_is_not_sent'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='outboxmessage',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_outboxmessageevent" ("address", "attempts", "body", "channel", "claimed_at", "cleared_at", "cleared_by_id", "cleared_note", "delivered_at", "edition", "gateway_reference", "id", "key", "last_error", "message_id", "not_after", "not_before", "perhaps_sent", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "recipient_name", "reply_code", "sent_at", "state", "subject", "text", "urgent") VALUES (NEW."address", NEW."attempts", NEW."body", NEW."channel", NEW."claimed_at", NEW."cleared_at", NEW."cleared_by_id", NEW."cleared_note", NEW."delivered_at", NEW."edition", NEW."gateway_reference", NEW."id", NEW."key", NEW."last_error", NEW."message_id", NEW."not_after", NEW."not_before", NEW."perhaps_sent", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."recipient_name", NEW."reply_code", NEW."sent_at", NEW."state", NEW."subject", NEW."text", NEW."urgent"); RETURN NULL;', hash='40974e285759f6b7c10884d9bf73a8381481f594', operation='INSERT', pgid='pgtrigger_insert_insert_8fe42', table='rotas_outboxmessage', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='outboxmessage',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_outboxmessageevent" ("address", "attempts", "body", "channel", "claimed_at", "cleared_at", "cleared_by_id", "cleared_note", "delivered_at", "edition", "gateway_reference", "id", "key", "last_error", "message_id", "not_after", "not_before", "perhaps_sent", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "recipient_name", "reply_code", "sent_at", "state", "subject", "text", "urgent") VALUES (NEW."address", NEW."attempts", NEW."body", NEW."channel", NEW."claimed_at", NEW."cleared_at", NEW."cleared_by_id", NEW."cleared_note", NEW."delivered_at", NEW."edition", NEW."gateway_reference", NEW."id", NEW."key", NEW."last_error", NEW."message_id", NEW."not_after", NEW."not_before", NEW."perhaps_sent", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."recipient_name", NEW."reply_code", NEW."sent_at", NEW."state", NEW."subject", NEW."text", NEW."urgent"); RETURN NULL;', hash='413ec066a76cdfee22b4de0f34db707d0147d4a3', operation='UPDATE', pgid='pgtrigger_update_update_c1de7', table='rotas_outboxmessage', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='neighbourevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='b6078a6f3debaa65e6a6d62d13a96b50002f02f1', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_11173', table='rotas_neighbourevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='neighbourevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='19bb0a1657263010f09cc0726c523f3ab1818897', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_780e0', table='rotas_neighbourevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='neighbour',
            constraint=models.UniqueConstraint(fields=('practice', 'name'), name='neighbour_once_per_practice'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='neighbour',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_neighbourevent" ("id", "minutes_away", "name", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "phone", "practice_id", "skills") VALUES (NEW."id", NEW."minutes_away", NEW."name", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."phone", NEW."practice_id", NEW."skills"); RETURN NULL;', hash='696bcde25942e1475ddaf38f9812c14dfed851f7', operation='INSERT', pgid='pgtrigger_insert_insert_f8788', table='rotas_neighbour', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='neighbour',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_neighbourevent" ("id", "minutes_away", "name", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "phone", "practice_id", "skills") VALUES (NEW."id", NEW."minutes_away", NEW."name", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."phone", NEW."practice_id", NEW."skills"); RETURN NULL;', hash='a0881ad4d3fead358af1b638b0da30ba127c12ac', operation='UPDATE', pgid='pgtrigger_update_update_e542c', table='rotas_neighbour', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='memberevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='c865cdb862aa3fbaf4b6c13e4a4a07525bd86b06', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_8e065', table='rotas_memberevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='memberevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='f602211ab92b0f42a103b4d5cc2b37029ebbb7a4', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_69307', table='rotas_memberevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='inboundmessageevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='9fbe7a958b90f17e71ffa4e055f87ec4552ca700', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_99dd7', table='rotas_inboundmessageevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='inboundmessageevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='4a89fe8c9d277b66eeea059326ab417329e64b45', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_4b77b', table='rotas_inboundmessageevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='inboundmessage',
            index=models.Index(fields=['state', 'received_at'], name='rotas_inbou_state_b6e3e7_idx'),
        ),
        migrations.AddConstraint(
            model_name='inboundmessage',
            constraint=models.UniqueConstraint(fields=('practice', 'key'), name='inbound_once_per_event'),
        ),
        migrations.AddConstraint(
            model_name='inboundmessage',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'read'), _negated=True), ('read_at__isnull', False), _connector='OR'), name='inbound_read_has_a_time'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='inboundmessage',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_inboundmessageevent" ("answer", "channel", "from_address", "handler", "id", "key", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "read_at", "read_by_id", "read_note", "received_at", "state", "text", "written_at") VALUES (NEW."answer", NEW."channel", NEW."from_address", NEW."handler", NEW."id", NEW."key", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."read_at", NEW."read_by_id", NEW."read_note", NEW."received_at", NEW."state", NEW."text", NEW."written_at"); RETURN NULL;', hash='53ba0cae7b21ac3f9c9e0a1a642f3fd8d84233b9', operation='INSERT', pgid='pgtrigger_insert_insert_caa42', table='rotas_inboundmessage', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='inboundmessage',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_inboundmessageevent" ("answer", "channel", "from_address", "handler", "id", "key", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "read_at", "read_by_id", "read_note", "received_at", "state", "text", "written_at") VALUES (NEW."answer", NEW."channel", NEW."from_address", NEW."handler", NEW."id", NEW."key", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."read_at", NEW."read_by_id", NEW."read_note", NEW."received_at", NEW."state", NEW."text", NEW."written_at"); RETURN NULL;', hash='2121a3b05e82fafe1d076d6c2b8dbfe8a208d75e', operation='UPDATE', pgid='pgtrigger_update_update_435b6', table='rotas_inboundmessage', when='AFTER')),
        ),
        migrations.AddConstraint(
            model_name='givenanswer',
            constraint=models.UniqueConstraint(fields=('member', 'key'), name='answer_once_per_key'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='gatewaykeyevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='c7af051493658ba7487de4a644ef6bd741e58f03', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_91daa', table='rotas_gatewaykeyevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='gatewaykeyevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='003523defea6d56d0534fa8e36483c5e1e8f4060', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_ddfd4', table='rotas_gatewaykeyevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='gatewaykey',
            constraint=models.CheckConstraint(condition=models.Q(('place__in', (1, 2))), name='gateway_key_place_one_or_two'),
        ),
        migrations.AddConstraint(
            model_name='gatewaykey',
            constraint=models.UniqueConstraint(condition=models.Q(('ended_at__isnull', True)), fields=('practice', 'place'), name='gateway_keys_two_at_once'),
        ),
        migrations.AddConstraint(
            model_name='gatewaykey',
            constraint=models.CheckConstraint(condition=models.Q(('ended_at__isnull', True), ('ended_at__gte', models.F('made_at')), _connector='OR'), name='gateway_key_ends_after_made'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='gatewaykey',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_gatewaykeyevent" ("ended_at", "id", "made_at", "made_by_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "place", "practice_id", "public_id", "salt") VALUES (NEW."ended_at", NEW."id", NEW."made_at", NEW."made_by_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."place", NEW."practice_id", NEW."public_id", NEW."salt"); RETURN NULL;', hash='49787340caca481aa65289b031feb6f4493ed9ea', operation='INSERT', pgid='pgtrigger_insert_insert_7413f', table='rotas_gatewaykey', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='gatewaykey',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_gatewaykeyevent" ("ended_at", "id", "made_at", "made_by_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "place", "practice_id", "public_id", "salt") VALUES (NEW."ended_at", NEW."id", NEW."made_at", NEW."made_by_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."place", NEW."practice_id", NEW."public_id", NEW."salt"); RETURN NULL;', hash='92f1cd8c0a364f0aeb53114c5feaf0297caaec6e', operation='UPDATE', pgid='pgtrigger_update_update_67414', table='rotas_gatewaykey', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='coverneedevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='fed27a5b57c9264e463b7ed0cd2bd8a5bbc48ab5', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_78461', table='rotas_coverneedevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='coverneedevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='dc788cec644e67bdaaaa01c6c201c8978378d215', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_e4f6d', table='rotas_coverneedevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='coverneed',
            constraint=models.CheckConstraint(condition=models.Q(('weekdays__contained_by', [0, 1, 2, 3, 4, 5, 6]), ('weekdays__len__gt', 0)), name='cover_weekdays_real'),
        ),
        migrations.AddConstraint(
            model_name='coverneed',
            constraint=models.CheckConstraint(condition=models.Q(('wanted__gt', 0)), name='cover_wants_somebody'),
        ),
        migrations.AddConstraint(
            model_name='coverneed',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('from_day__isnull', True), ('from_month__isnull', True), ('until_day__isnull', True), ('until_month__isnull', True)), models.Q(('from_day__range', (1, 31)), ('from_month__range', (1, 12)), ('until_day__range', (1, 31)), ('until_month__range', (1, 12))), _connector='OR'), name='cover_season_whole_or_none'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='coverneed',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_coverneedevent" ("at_workplace", "bank_holiday", "ended_at", "ends", "from_day", "from_month", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "role", "site", "starts", "until_day", "until_month", "wanted", "weekdays") VALUES (NEW."at_workplace", NEW."bank_holiday", NEW."ended_at", NEW."ends", NEW."from_day", NEW."from_month", NEW."id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."role", NEW."site", NEW."starts", NEW."until_day", NEW."until_month", NEW."wanted", NEW."weekdays"); RETURN NULL;', hash='69cb37cffbe71efea479a57e10d022d882efc4e4', operation='INSERT', pgid='pgtrigger_insert_insert_3153e', table='rotas_coverneed', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='coverneed',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_coverneedevent" ("at_workplace", "bank_holiday", "ended_at", "ends", "from_day", "from_month", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "role", "site", "starts", "until_day", "until_month", "wanted", "weekdays") VALUES (NEW."at_workplace", NEW."bank_holiday", NEW."ended_at", NEW."ends", NEW."from_day", NEW."from_month", NEW."id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."role", NEW."site", NEW."starts", NEW."until_day", NEW."until_month", NEW."wanted", NEW."weekdays"); RETURN NULL;', hash='6ce3f314c8a57b255b8628021dbd64e18272b747', operation='UPDATE', pgid='pgtrigger_update_update_5f0e3', table='rotas_coverneed', when='AFTER')),
        ),
        migrations.AddIndex(
            model_name='auditline',
            index=models.Index(fields=['practice', 'subject', 'at'], name='rotas_audit_practic_238090_idx'),
        ),
        migrations.AddIndex(
            model_name='auditline',
            index=models.Index(fields=['practice', 'at'], name='rotas_audit_practic_3f6ff1_idx'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='auditline',
            trigger=pgtrigger.compiler.Trigger(name='no_rewrite', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='fce6654695158526e00c6fc276eed947746f28c9', operation='UPDATE OR DELETE', pgid='pgtrigger_no_rewrite_fa054', table='rotas_auditline', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='auditline',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='2e141fb5a72d01c3b27c8245bb73391c3f60ee7e', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_09927', table='rotas_auditline', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='member',
            index=models.Index(fields=['practice', 'username'], name='rotas_membe_practic_e98b9e_idx'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='member',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_memberevent" ("date_joined", "email", "first_name", "id", "is_active", "is_staff", "is_superuser", "last_name", "name", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "phone", "practice_id", "roles", "username") VALUES (NEW."date_joined", NEW."email", NEW."first_name", NEW."id", NEW."is_active", NEW."is_staff", NEW."is_superuser", NEW."last_name", NEW."name", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."phone", NEW."practice_id", NEW."roles", NEW."username"); RETURN NULL;', hash='bb0443a5704a5838f810b00e5afa4fa1a8cbc246', operation='INSERT', pgid='pgtrigger_insert_insert_a2ec8', table='rotas_member', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='member',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD."date_joined" IS DISTINCT FROM (NEW."date_joined") OR OLD."email" IS DISTINCT FROM (NEW."email") OR OLD."first_name" IS DISTINCT FROM (NEW."first_name") OR OLD."id" IS DISTINCT FROM (NEW."id") OR OLD."is_active" IS DISTINCT FROM (NEW."is_active") OR OLD."is_staff" IS DISTINCT FROM (NEW."is_staff") OR OLD."is_superuser" IS DISTINCT FROM (NEW."is_superuser") OR OLD."last_name" IS DISTINCT FROM (NEW."last_name") OR OLD."name" IS DISTINCT FROM (NEW."name") OR OLD."phone" IS DISTINCT FROM (NEW."phone") OR OLD."practice_id" IS DISTINCT FROM (NEW."practice_id") OR OLD."roles" IS DISTINCT FROM (NEW."roles") OR OLD."username" IS DISTINCT FROM (NEW."username"))', func='INSERT INTO "rotas_memberevent" ("date_joined", "email", "first_name", "id", "is_active", "is_staff", "is_superuser", "last_name", "name", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "phone", "practice_id", "roles", "username") VALUES (NEW."date_joined", NEW."email", NEW."first_name", NEW."id", NEW."is_active", NEW."is_staff", NEW."is_superuser", NEW."last_name", NEW."name", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."phone", NEW."practice_id", NEW."roles", NEW."username"); RETURN NULL;', hash='7547561798f25e223fb5dd846806be9f885e502e', operation='UPDATE', pgid='pgtrigger_update_update_0117f', table='rotas_member', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='practiceevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='dd8606064059c8f3538aeb56cfdab27e0968e128', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_8ab5b', table='rotas_practiceevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='practiceevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='914a17ae906455c8538fa2dcf0987382e985de76', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_8b685', table='rotas_practiceevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='reach',
            index=models.Index(fields=['practice', 'address'], name='rotas_reach_practic_0af395_idx'),
        ),
        migrations.AddConstraint(
            model_name='reach',
            constraint=models.UniqueConstraint(condition=models.Q(('ended_at__isnull', True)), fields=('member', 'channel', 'address', 'from_clock', 'until_clock'), name='reach_once_per_member', nulls_distinct=False),
        ),
        migrations.AddConstraint(
            model_name='reach',
            constraint=models.CheckConstraint(condition=models.Q(('channel', 'call'), _negated=True), name='reach_is_by_a_line'),
        ),
        migrations.AddConstraint(
            model_name='reach',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('from_clock__isnull', True), ('until_clock__isnull', True)), models.Q(('from_clock__isnull', False), ('until_clock__isnull', False)), _connector='OR'), name='reach_has_both_clocks_or_none'),
        ),
        migrations.AddConstraint(
            model_name='reach',
            constraint=models.CheckConstraint(condition=models.Q(('ended_at__isnull', True), ('ended_at__gte', models.F('made_at')), _connector='OR'), name='reach_ends_after_made'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reach',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_reachevent" ("address", "channel", "ended_at", "from_clock", "id", "made_at", "member_id", "order", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "until_clock") VALUES (NEW."address", NEW."channel", NEW."ended_at", NEW."from_clock", NEW."id", NEW."made_at", NEW."member_id", NEW."order", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."until_clock"); RETURN NULL;', hash='c19a3226daa98a4dc1cea5c43eabde73c905c43e', operation='INSERT', pgid='pgtrigger_insert_insert_42987', table='rotas_reach', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reach',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_reachevent" ("address", "channel", "ended_at", "from_clock", "id", "made_at", "member_id", "order", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "until_clock") VALUES (NEW."address", NEW."channel", NEW."ended_at", NEW."from_clock", NEW."id", NEW."made_at", NEW."member_id", NEW."order", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."until_clock"); RETURN NULL;', hash='499acfc88773c924a59c36a750329b64f86509a3', operation='UPDATE', pgid='pgtrigger_update_update_b6afc', table='rotas_reach', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reachevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='00fa8d2268b1178be95a23cd45af3b81dc2726d2', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_c4035', table='rotas_reachevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reachevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='f1ce67ba6aab2b933f4ee988b794aa98f10d7519', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_7e8bd', table='rotas_reachevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='receipt',
            constraint=models.UniqueConstraint(fields=('practice', 'key'), name='receipt_once_per_event'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='receipt',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_receiptevent" ("about", "detail", "happened_at", "id", "key", "message_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "received_at", "status") VALUES (NEW."about", NEW."detail", NEW."happened_at", NEW."id", NEW."key", NEW."message_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."received_at", NEW."status"); RETURN NULL;', hash='a31670d1d5c61b9fe2b04c95ff8f05049948c2fa', operation='INSERT', pgid='pgtrigger_insert_insert_d4f3b', table='rotas_receipt', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='receipt',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_receiptevent" ("about", "detail", "happened_at", "id", "key", "message_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "received_at", "status") VALUES (NEW."about", NEW."detail", NEW."happened_at", NEW."id", NEW."key", NEW."message_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."received_at", NEW."status"); RETURN NULL;', hash='2b5791a80ef8cebbf49f168516d22d460bf69801', operation='UPDATE', pgid='pgtrigger_update_update_81746', table='rotas_receipt', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='receiptevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='54e74685d96286f5db3305018d41d1f2498c653f', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_a982c', table='rotas_receiptevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='receiptevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='8bce208fdb11669d978ddf1d07992039918cb385', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_2b9cc', table='rotas_receiptevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='rota',
            index=models.Index(fields=['practice', 'state', 'first_day'], name='rotas_rota_practic_c1562f_idx'),
        ),
        migrations.AddConstraint(
            model_name='rota',
            constraint=models.CheckConstraint(condition=models.Q(('last_day__gte', models.F('first_day'))), name='rota_ends_after_start'),
        ),
        migrations.AddConstraint(
            model_name='rota',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'published'), _negated=True), ('published_at__isnull', False), _connector='OR'), name='rota_published_has_a_time'),
        ),
        migrations.AddConstraint(
            model_name='rota',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'withdrawn'), _negated=True), ('withdrawn_at__isnull', False), _connector='OR'), name='rota_withdrawn_has_a_time'),
        ),
        migrations.AddConstraint(
            model_name='rota',
            constraint=models.CheckConstraint(condition=models.Q(('build_seconds__gt', 0)), name='rota_build_takes_time'),
        ),
        migrations.AddConstraint(
            model_name='rota',
            constraint=django.contrib.postgres.constraints.ExclusionConstraint(condition=models.Q(('state', 'published')), expressions=[(models.Func(models.F('practice'), models.F('practice'), models.Value('[]'), function='int8range'), '&&'), (models.Func(models.F('first_day'), models.F('last_day'), models.Value('[]'), function='daterange'), '&&')], name='rota_one_published_per_day', violation_error_message='Another rota is published for one of these days.'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='rota',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_rotaevent" ("answer", "build_asked_at", "build_number", "build_seconds", "build_state", "built_at", "first_day", "id", "last_day", "made_at", "made_by_id", "name", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "published_at", "published_by_id", "state", "withdrawn_at") VALUES (NEW."answer", NEW."build_asked_at", NEW."build_number", NEW."build_seconds", NEW."build_state", NEW."built_at", NEW."first_day", NEW."id", NEW."last_day", NEW."made_at", NEW."made_by_id", NEW."name", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."published_at", NEW."published_by_id", NEW."state", NEW."withdrawn_at"); RETURN NULL;', hash='ece89bbec43420f209ea8cfd99108177a3b37d6b', operation='INSERT', pgid='pgtrigger_insert_insert_40012', table='rotas_rota', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='rota',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_rotaevent" ("answer", "build_asked_at", "build_number", "build_seconds", "build_state", "built_at", "first_day", "id", "last_day", "made_at", "made_by_id", "name", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "published_at", "published_by_id", "state", "withdrawn_at") VALUES (NEW."answer", NEW."build_asked_at", NEW."build_number", NEW."build_seconds", NEW."build_state", NEW."built_at", NEW."first_day", NEW."id", NEW."last_day", NEW."made_at", NEW."made_by_id", NEW."name", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."published_at", NEW."published_by_id", NEW."state", NEW."withdrawn_at"); RETURN NULL;', hash='fc09f6d2eb1008927f6d35e8245773c5134b4553', operation='UPDATE', pgid='pgtrigger_update_update_ca1b4', table='rotas_rota', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='rotaevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='a7ffd8fa09d1003be61b9ca887b5370774ce8f5d', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_faa28', table='rotas_rotaevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='rotaevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='3c40466581b910e1ae39cd0658a8ea47a99715bc', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_ed2aa', table='rotas_rotaevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='vet',
            constraint=models.UniqueConstraint(fields=('practice', 'code'), name='vet_code_once_per_practice'),
        ),
        migrations.AddConstraint(
            model_name='vet',
            constraint=models.CheckConstraint(condition=models.Q(('contract_share__gt', 0), ('contract_share__lte', 1)), name='vet_contract_share_real'),
        ),
        migrations.AddConstraint(
            model_name='vet',
            constraint=models.CheckConstraint(condition=models.Q(('most_nights_running__isnull', True), ('most_nights_running__gt', 0), _connector='OR'), name='vet_nights_running_real'),
        ),
        migrations.AddConstraint(
            model_name='vet',
            constraint=models.CheckConstraint(condition=models.Q(('home_latitude__range', (-90, 90)), ('home_longitude__range', (-180, 180))), name='vet_home_on_earth'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='vet',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_vetevent" ("active", "code", "contract_share", "home_latitude", "home_longitude", "id", "member_id", "most_nights_running", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "rota_roles", "self_report", "self_reported_at", "started_on", "stood_down_until", "takes_urgent") VALUES (NEW."active", NEW."code", NEW."contract_share", NEW."home_latitude", NEW."home_longitude", NEW."id", NEW."member_id", NEW."most_nights_running", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."rota_roles", NEW."self_report", NEW."self_reported_at", NEW."started_on", NEW."stood_down_until", NEW."takes_urgent"); RETURN NULL;', hash='a0540c821fecd894fc947260814f1d78faa1c259', operation='INSERT', pgid='pgtrigger_insert_insert_baa8a', table='rotas_vet', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='vet',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_vetevent" ("active", "code", "contract_share", "home_latitude", "home_longitude", "id", "member_id", "most_nights_running", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "rota_roles", "self_report", "self_reported_at", "started_on", "stood_down_until", "takes_urgent") VALUES (NEW."active", NEW."code", NEW."contract_share", NEW."home_latitude", NEW."home_longitude", NEW."id", NEW."member_id", NEW."most_nights_running", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."rota_roles", NEW."self_report", NEW."self_reported_at", NEW."started_on", NEW."stood_down_until", NEW."takes_urgent"); RETURN NULL;', hash='1ffde9fbaceb46cacf2df6a60f157bea7230d1f5', operation='UPDATE', pgid='pgtrigger_update_update_b4920', table='rotas_vet', when='AFTER')),
        ),
        migrations.AddIndex(
            model_name='tirednessreport',
            index=models.Index(fields=['vet', 'at'], name='rotas_tired_vet_id_771871_idx'),
        ),
        migrations.AddConstraint(
            model_name='tirednessreport',
            constraint=models.CheckConstraint(condition=models.Q(('hours_slept__isnull', True), models.Q(('hours_slept__range', (0, 14)), django.db.models.lookups.Exact(django.db.models.expressions.CombinedExpression(models.F('hours_slept'), '*', models.Value(4)), models.Func(django.db.models.expressions.CombinedExpression(models.F('hours_slept'), '*', models.Value(4)), function='ROUND'))), _connector='OR'), name='hours_slept_in_quarters'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='tirednessreport',
            trigger=pgtrigger.compiler.Trigger(name='no_rewrite', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='cb81a17d0b8ccbeee66a88923de4f088ac6b64ca', operation='UPDATE OR DELETE', pgid='pgtrigger_no_rewrite_f4be5', table='rotas_tirednessreport', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='tirednessreport',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='279190d9e022be0ffa0a93fc8448969212472b05', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_ee830', table='rotas_tirednessreport', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='swapevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='d430f36307792feb3f7daaa733b9f13716847a20', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_bdaf4', table='rotas_swapevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='swapevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='d80a4f72c84695c2e472405cba37bc77cb1fa2ac', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_06224', table='rotas_swapevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='swap',
            index=models.Index(fields=['practice', 'state'], name='rotas_swap_practic_8d4230_idx'),
        ),
        migrations.AddConstraint(
            model_name='swap',
            constraint=models.CheckConstraint(condition=models.Q(('from_vet', models.F('to_vet')), _negated=True), name='swap_between_two'),
        ),
        migrations.AddConstraint(
            model_name='swap',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'accepted'), _negated=True), models.Q(('answered_at__isnull', False), ('veto_until__isnull', False)), _connector='OR'), name='swap_accepted_has_a_time'),
        ),
        migrations.AddConstraint(
            model_name='swap',
            constraint=models.UniqueConstraint(condition=models.Q(('state__in', ['asked', 'accepted'])), fields=('shift',), name='swap_one_open_per_shift'),
        ),
        migrations.AddConstraint(
            model_name='swap',
            constraint=models.UniqueConstraint(condition=models.Q(('state__in', ['asked', 'accepted'])), fields=('in_return',), name='swap_one_open_per_return'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='swap',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_swapevent" ("answered_at", "asked_at", "changes", "decided_at", "decided_by_id", "from_vet_id", "id", "in_return_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "shift_id", "state", "to_vet_id", "veto_until") VALUES (NEW."answered_at", NEW."asked_at", NEW."changes", NEW."decided_at", NEW."decided_by_id", NEW."from_vet_id", NEW."id", NEW."in_return_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."shift_id", NEW."state", NEW."to_vet_id", NEW."veto_until"); RETURN NULL;', hash='5b17d7eb6ab114349bb9c782233d9fa8b1021c1a', operation='INSERT', pgid='pgtrigger_insert_insert_6ccb2', table='rotas_swap', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='swap',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_swapevent" ("answered_at", "asked_at", "changes", "decided_at", "decided_by_id", "from_vet_id", "id", "in_return_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "shift_id", "state", "to_vet_id", "veto_until") VALUES (NEW."answered_at", NEW."asked_at", NEW."changes", NEW."decided_at", NEW."decided_by_id", NEW."from_vet_id", NEW."id", NEW."in_return_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."shift_id", NEW."state", NEW."to_vet_id", NEW."veto_until"); RETURN NULL;', hash='da2a3c98c542060a8c535ac7d4fc536c352c010c', operation='UPDATE', pgid='pgtrigger_update_update_99806', table='rotas_swap', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='shiftevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='4fa1230a707031dbc808b9d8cf5b53e230c43876', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_e06ee', table='rotas_shiftevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='shiftevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='434bb9a88c7099469814321a9fc286202e7492f1', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_4babe', table='rotas_shiftevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='shift',
            index=models.Index(fields=['practice', 'role'], name='rotas_shift_practic_d456ad_idx'),
        ),
        migrations.AddConstraint(
            model_name='shift',
            constraint=django.contrib.postgres.constraints.ExclusionConstraint(condition=models.Q(('ended_at__isnull', True)), expressions=[(models.Func(models.F('vet'), models.F('vet'), models.Value('[]'), function='int8range'), '&&'), ('period', '&&')], name='shift_one_duty_at_a_time', violation_error_message='This vet is already on a duty at that time.'),
        ),
        migrations.AddConstraint(
            model_name='shift',
            constraint=models.CheckConstraint(condition=models.Q(('period__isempty', False), ('period__lower_inf', False), ('period__upper_inf', False)), name='shift_ends_after_it_starts'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='shift',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_shiftevent" ("at_workplace", "day", "ended_at", "id", "period", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "role", "site", "vet_id") VALUES (NEW."at_workplace", NEW."day", NEW."ended_at", NEW."id", NEW."period", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."role", NEW."site", NEW."vet_id"); RETURN NULL;', hash='54cb3359b593015c258ba34433b1d8dc958d1bbf', operation='INSERT', pgid='pgtrigger_insert_insert_adf3e', table='rotas_shift', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='shift',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_shiftevent" ("at_workplace", "day", "ended_at", "id", "period", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "role", "site", "vet_id") VALUES (NEW."at_workplace", NEW."day", NEW."ended_at", NEW."id", NEW."period", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."role", NEW."site", NEW."vet_id"); RETURN NULL;', hash='6f60cc8242a5dd0fdc4253e138a06916b2d4e392', operation='UPDATE', pgid='pgtrigger_update_update_cd3d2', table='rotas_shift', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='rotawishevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='2bd81e135ed319c5d6b42ed8bb4355da260417d3', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_6e1a4', table='rotas_rotawishevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='rotawishevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='86c71a76708a8e3770dfb3eb83cf5424df7637a2', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_62d04', table='rotas_rotawishevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='rotawish',
            index=models.Index(fields=['practice', 'day'], name='rotas_rotaw_practic_070263_idx'),
        ),
        migrations.AddConstraint(
            model_name='rotawish',
            constraint=models.CheckConstraint(condition=models.Q(('weight__range', (1, 3))), name='wish_weight_one_to_three'),
        ),
        migrations.AddConstraint(
            model_name='rotawish',
            constraint=models.UniqueConstraint(condition=models.Q(('withdrawn_at__isnull', True)), fields=('vet', 'day', 'role'), name='wish_once_per_day_and_role'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='rotawish',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_rotawishevent" ("day", "id", "made_at", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "role", "vet_id", "wants", "weight", "withdrawn_at") VALUES (NEW."day", NEW."id", NEW."made_at", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."role", NEW."vet_id", NEW."wants", NEW."weight", NEW."withdrawn_at"); RETURN NULL;', hash='4e7cc119f0b70c25cbf84beda9f5177c94524daa', operation='INSERT', pgid='pgtrigger_insert_insert_27682', table='rotas_rotawish', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='rotawish',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_rotawishevent" ("day", "id", "made_at", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "role", "vet_id", "wants", "weight", "withdrawn_at") VALUES (NEW."day", NEW."id", NEW."made_at", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."role", NEW."vet_id", NEW."wants", NEW."weight", NEW."withdrawn_at"); RETURN NULL;', hash='e71cb5a0d9dac5c58d353b05c4c6410c95c4e6ff', operation='UPDATE', pgid='pgtrigger_update_update_97d47', table='rotas_rotawish', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='restowedevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='1e14552d7402fab132a07f77fa850c1e4a36a58e', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_f0b7d', table='rotas_restowedevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='restowedevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='43b9c3dc4d790f772578a39f9be61bfb201a2b0e', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_f5d40', table='rotas_restowedevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='restowed',
            constraint=models.CheckConstraint(condition=models.Q(('minutes__gt', 0)), name='rest_owed_is_something'),
        ),
        migrations.AddConstraint(
            model_name='restowed',
            constraint=models.CheckConstraint(condition=models.Q(('due_by__gt', models.F('owed_from'))), name='rest_due_after_owed'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='restowed',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_restowedevent" ("because", "due_by", "exception_id", "id", "minutes", "owed_from", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "taken_at", "taken_recorded_by_id", "vet_id") VALUES (NEW."because", NEW."due_by", NEW."exception_id", NEW."id", NEW."minutes", NEW."owed_from", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."taken_at", NEW."taken_recorded_by_id", NEW."vet_id"); RETURN NULL;', hash='9aaea4b480cb2a4f4e126677e2e8a568fd0da8cf', operation='INSERT', pgid='pgtrigger_insert_insert_29771', table='rotas_restowed', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='restowed',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_restowedevent" ("because", "due_by", "exception_id", "id", "minutes", "owed_from", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "taken_at", "taken_recorded_by_id", "vet_id") VALUES (NEW."because", NEW."due_by", NEW."exception_id", NEW."id", NEW."minutes", NEW."owed_from", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."taken_at", NEW."taken_recorded_by_id", NEW."vet_id"); RETURN NULL;', hash='a0c9cfb09d8d4983513e877a3a0d7970276cc6d9', operation='UPDATE', pgid='pgtrigger_update_update_f6f91', table='rotas_restowed', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='restexceptionevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='1a4fad38434b367ae75b6adb2a5bf8bf7fd7ca17', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_b11b8', table='rotas_restexceptionevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='restexceptionevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='22189f1dc358baa43115001bb5a40d1aab16844b', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_35452', table='rotas_restexceptionevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='restexception',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='exception_has_a_reason'),
        ),
        migrations.AddConstraint(
            model_name='restexception',
            constraint=models.CheckConstraint(condition=models.Q(('passed_by_min__gt', 0)), name='exception_passes_something'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='restexception',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_restexceptionevent" ("approved_at", "approved_by_id", "id", "limit_at", "passed_by_min", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "reason", "rule", "subject", "vet_id") VALUES (NEW."approved_at", NEW."approved_by_id", NEW."id", NEW."limit_at", NEW."passed_by_min", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."reason", NEW."rule", NEW."subject", NEW."vet_id"); RETURN NULL;', hash='e50d5d0dcfd5a2babc5f1e09dd24843b5c5da98f', operation='INSERT', pgid='pgtrigger_insert_insert_bf532', table='rotas_restexception', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='restexception',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_restexceptionevent" ("approved_at", "approved_by_id", "id", "limit_at", "passed_by_min", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "reason", "rule", "subject", "vet_id") VALUES (NEW."approved_at", NEW."approved_by_id", NEW."id", NEW."limit_at", NEW."passed_by_min", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."reason", NEW."rule", NEW."subject", NEW."vet_id"); RETURN NULL;', hash='0f42a8fd1927fe71e7d3ada8869a9f8203d54932', operation='UPDATE', pgid='pgtrigger_update_update_540ed', table='rotas_restexception', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reportseenevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='b1b981b835d5a9c0b66fa389f34275605934140d', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_c4c75', table='rotas_reportseenevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reportseenevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='ce0a7e82f93338faa33d93f205dcf8d510aad5e9', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_d6639', table='rotas_reportseenevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='reportseen',
            index=models.Index(fields=['vet', '-seen_at'], name='rotas_repor_vet_id_712991_idx'),
        ),
        migrations.AddConstraint(
            model_name='reportseen',
            constraint=models.CheckConstraint(condition=models.Q(('last_day__gte', models.F('first_day'))), name='report_seen_ends_after_start'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reportseen',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_reportseenevent" ("first_day", "id", "last_day", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "says", "seen_at", "vet_id") VALUES (NEW."first_day", NEW."id", NEW."last_day", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."says", NEW."seen_at", NEW."vet_id"); RETURN NULL;', hash='c7e480f44f4f4d784d043e5bf3a8eca4c7540159', operation='INSERT', pgid='pgtrigger_insert_insert_437c8', table='rotas_reportseen', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reportseen',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_reportseenevent" ("first_day", "id", "last_day", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "says", "seen_at", "vet_id") VALUES (NEW."first_day", NEW."id", NEW."last_day", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."says", NEW."seen_at", NEW."vet_id"); RETURN NULL;', hash='61398f779e55f855b80a4f066b5f35ce0fff211e', operation='UPDATE', pgid='pgtrigger_update_update_5b326', table='rotas_reportseen', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reportnoteevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='20c15fd480b25b2587e34b3fde476ef4635ae797', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_2e1c9', table='rotas_reportnoteevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reportnoteevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='90a32e256fc3c3b2b8509f003ea218b4053684df', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_fd681', table='rotas_reportnoteevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='reportnote',
            index=models.Index(fields=['practice', 'week'], name='rotas_repor_practic_b90e2b_idx'),
        ),
        migrations.AddConstraint(
            model_name='reportnote',
            constraint=models.CheckConstraint(condition=models.Q(('text', ''), _negated=True), name='report_note_says_something'),
        ),
        migrations.AddConstraint(
            model_name='reportnote',
            constraint=models.CheckConstraint(condition=models.Q(('week__iso_week_day', 1)), name='report_note_week_is_a_monday'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reportnote',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_reportnoteevent" ("id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "text", "vet_id", "week", "written_at", "written_by_id") VALUES (NEW."id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."text", NEW."vet_id", NEW."week", NEW."written_at", NEW."written_by_id"); RETURN NULL;', hash='1bc63e276592e799c3c3d8134ab88f4b645a28ab', operation='INSERT', pgid='pgtrigger_insert_insert_76a7c', table='rotas_reportnote', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='reportnote',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_reportnoteevent" ("id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "text", "vet_id", "week", "written_at", "written_by_id") VALUES (NEW."id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."text", NEW."vet_id", NEW."week", NEW."written_at", NEW."written_by_id"); RETURN NULL;', hash='1f5eddca3951a523620b29966fb19495d73d96c6', operation='UPDATE', pgid='pgtrigger_update_update_9ea4c', table='rotas_reportnote', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='repairevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='b964a9e9eed001212080f1eca7dd629e2994159b', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_8c4a3', table='rotas_repairevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='repairevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='b590c30cd062d036eae400c536c7dc0df0fc5aeb', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_8e79f', table='rotas_repairevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='repair',
            index=models.Index(fields=['practice', 'state'], name='rotas_repai_practic_cb09de_idx'),
        ),
        migrations.AddConstraint(
            model_name='repair',
            constraint=models.CheckConstraint(condition=models.Q(('period__isempty', False), ('period__lower_inf', False), ('period__upper_inf', False)), name='repair_ends_after_it_starts'),
        ),
        migrations.AddConstraint(
            model_name='repair',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'accepted'), _negated=True), ('accepted_at__isnull', False), _connector='OR'), name='repair_accepted_has_a_time'),
        ),
        migrations.AddConstraint(
            model_name='repair',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'proposed')), fields=('vet',), name='repair_one_proposal_per_vet'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='repair',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_repairevent" ("accepted_at", "accepted_by_id", "broken", "changes", "gaps", "id", "made_at", "made_by_id", "period", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "sentence", "state", "vet_id") VALUES (NEW."accepted_at", NEW."accepted_by_id", NEW."broken", NEW."changes", NEW."gaps", NEW."id", NEW."made_at", NEW."made_by_id", NEW."period", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."sentence", NEW."state", NEW."vet_id"); RETURN NULL;', hash='b884f498b934b4d203ea4c9c4ba6e4fbfdf9f9f7', operation='INSERT', pgid='pgtrigger_insert_insert_82ab1', table='rotas_repair', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='repair',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_repairevent" ("accepted_at", "accepted_by_id", "broken", "changes", "gaps", "id", "made_at", "made_by_id", "period", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "sentence", "state", "vet_id") VALUES (NEW."accepted_at", NEW."accepted_by_id", NEW."broken", NEW."changes", NEW."gaps", NEW."id", NEW."made_at", NEW."made_by_id", NEW."period", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."sentence", NEW."state", NEW."vet_id"); RETURN NULL;', hash='6be9f2a082796a141b4651a6eb9d44ac9f3907e8', operation='UPDATE', pgid='pgtrigger_update_update_ab732', table='rotas_repair', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='notonevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='acace6157f383561139931215f0d6e2a2c92b89e', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_45307', table='rotas_notonevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='notonevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='2f039b67c4250f3ba7384c38bdf42c8eeda2e748', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_390bc', table='rotas_notonevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='noton',
            constraint=models.CheckConstraint(condition=models.Q(('weekday__isnull', False), models.Q(('role', ''), _negated=True), models.Q(('ends_on__isnull', False), ('starts_on__isnull', False)), _connector='OR'), name='not_on_names_something'),
        ),
        migrations.AddConstraint(
            model_name='noton',
            constraint=models.CheckConstraint(condition=models.Q(('weekday__isnull', True), ('weekday__range', (0, 6)), _connector='OR'), name='not_on_weekday_real'),
        ),
        migrations.AddConstraint(
            model_name='noton',
            constraint=models.CheckConstraint(condition=models.Q(('ends_on__isnull', True), ('starts_on__isnull', True), ('ends_on__gte', models.F('starts_on')), _connector='OR'), name='not_on_ends_after_start'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='noton',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_notonevent" ("ends_on", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "role", "starts_on", "vet_id", "weekday") VALUES (NEW."ends_on", NEW."id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."role", NEW."starts_on", NEW."vet_id", NEW."weekday"); RETURN NULL;', hash='fa546480f42c11b6e58505a2d6ef096470f49d59', operation='INSERT', pgid='pgtrigger_insert_insert_a0470', table='rotas_noton', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='noton',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_notonevent" ("ends_on", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "role", "starts_on", "vet_id", "weekday") VALUES (NEW."ends_on", NEW."id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."role", NEW."starts_on", NEW."vet_id", NEW."weekday"); RETURN NULL;', hash='0285ef60edb7c41980cbae3358b142754fb29299', operation='UPDATE', pgid='pgtrigger_update_update_4d85b', table='rotas_noton', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='notavailableforevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='97bbd735443cf4f471be0399c5a5d5678dffcf8e', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_94b5b', table='rotas_notavailableforevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='notavailableforevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='5483be95bad1a409ac50ad2b049c2d460ceb7ccb', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_3f693', table='rotas_notavailableforevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='notavailablefor',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('skill', ''), _negated=True), models.Q(('complaint', ''), _negated=True), _connector='OR'), name='not_available_names_something'),
        ),
        migrations.AddConstraint(
            model_name='notavailablefor',
            constraint=models.CheckConstraint(condition=models.Q(('ends_on__isnull', True), ('starts_on__isnull', True), ('ends_on__gte', models.F('starts_on')), _connector='OR'), name='not_available_ends_after_start'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='notavailablefor',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_notavailableforevent" ("complaint", "ends_on", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "skill", "starts_on", "vet_id") VALUES (NEW."complaint", NEW."ends_on", NEW."id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."skill", NEW."starts_on", NEW."vet_id"); RETURN NULL;', hash='9eb99c902d9ecee0c2151e03ffb732dc729fab59', operation='INSERT', pgid='pgtrigger_insert_insert_f04de', table='rotas_notavailablefor', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='notavailablefor',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_notavailableforevent" ("complaint", "ends_on", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "skill", "starts_on", "vet_id") VALUES (NEW."complaint", NEW."ends_on", NEW."id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."skill", NEW."starts_on", NEW."vet_id"); RETURN NULL;', hash='6384f519f09d02d64e225e8d85c5aea5126e7ed6', operation='UPDATE', pgid='pgtrigger_update_update_d7035', table='rotas_notavailablefor', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='namedsecondevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='d8762b3803adefa075f3169300340eba6f4bc3b6', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_d0f3f', table='rotas_namedsecondevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='namedsecondevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='53bd47c335e1a690d5300dca7e6431402484c9e3', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_bff90', table='rotas_namedsecondevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='namedsecond',
            constraint=models.UniqueConstraint(fields=('vet', 'second'), name='named_second_once'),
        ),
        migrations.AddConstraint(
            model_name='namedsecond',
            constraint=models.CheckConstraint(condition=models.Q(('vet', models.F('second')), _negated=True), name='named_second_is_another'),
        ),
        migrations.AddConstraint(
            model_name='namedsecond',
            constraint=models.CheckConstraint(condition=models.Q(('ends_on__isnull', True), ('starts_on__isnull', True), ('ends_on__gte', models.F('starts_on')), _connector='OR'), name='named_second_ends_after_start'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='namedsecond',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_namedsecondevent" ("ends_on", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "second_id", "starts_on", "vet_id") VALUES (NEW."ends_on", NEW."id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."second_id", NEW."starts_on", NEW."vet_id"); RETURN NULL;', hash='83496926ca952d6560ada00d0f2ed6c270772464', operation='INSERT', pgid='pgtrigger_insert_insert_05e4f', table='rotas_namedsecond', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='namedsecond',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_namedsecondevent" ("ends_on", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "second_id", "starts_on", "vet_id") VALUES (NEW."ends_on", NEW."id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."second_id", NEW."starts_on", NEW."vet_id"); RETURN NULL;', hash='4a7825b7fd9e194c51f624a6e7563bf0fb021b90', operation='UPDATE', pgid='pgtrigger_update_update_480d4', table='rotas_namedsecond', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='leaveevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='f1d9d543d49e585ea7363153022c9ea9dbb3b977', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_760e7', table='rotas_leaveevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='leaveevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='d3a8eba6e988bff1542ce850779890b04ce738c9', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_e5986', table='rotas_leaveevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='leave',
            index=models.Index(fields=['practice', 'state', 'first_day'], name='rotas_leave_practic_ce9d5b_idx'),
        ),
        migrations.AddConstraint(
            model_name='leave',
            constraint=models.CheckConstraint(condition=models.Q(('last_day__gte', models.F('first_day'))), name='leave_ends_after_start'),
        ),
        migrations.AddConstraint(
            model_name='leave',
            constraint=models.CheckConstraint(condition=models.Q(('state', 'asked'), ('decided_at__isnull', False), _connector='OR'), name='leave_decided_has_a_time'),
        ),
        migrations.AddConstraint(
            model_name='leave',
            constraint=django.contrib.postgres.constraints.ExclusionConstraint(condition=models.Q(('state__in', ['asked', 'approved'])), expressions=[(models.Func(models.F('vet'), models.F('vet'), models.Value('[]'), function='int8range'), '&&'), (models.Func(models.F('first_day'), models.F('last_day'), models.Value('[]'), function='daterange'), '&&')], name='leave_once_per_day', violation_error_message='This vet has asked for leave on one of these days already.'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='leave',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_leaveevent" ("asked_at", "asked_by_id", "decided_at", "decided_by_id", "first_day", "id", "last_day", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "state", "vet_id") VALUES (NEW."asked_at", NEW."asked_by_id", NEW."decided_at", NEW."decided_by_id", NEW."first_day", NEW."id", NEW."last_day", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."state", NEW."vet_id"); RETURN NULL;', hash='52335538a445d01cdbfeebe9b1418b8d7dbda56a', operation='INSERT', pgid='pgtrigger_insert_insert_e9fbe', table='rotas_leave', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='leave',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_leaveevent" ("asked_at", "asked_by_id", "decided_at", "decided_by_id", "first_day", "id", "last_day", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "state", "vet_id") VALUES (NEW."asked_at", NEW."asked_by_id", NEW."decided_at", NEW."decided_by_id", NEW."first_day", NEW."id", NEW."last_day", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."state", NEW."vet_id"); RETURN NULL;', hash='aa6d15daecc676051a8cbf07152acbfd35329674', operation='UPDATE', pgid='pgtrigger_update_update_1cfbe', table='rotas_leave', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='kitevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='bedc8bed8a8c79d7649ed573e127128f2b4def4a', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_48f1f', table='rotas_kitevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='kitevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='a87bfa2a6a10e4fe9afae52f0b2c3b07c9eff7be', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_586fe', table='rotas_kitevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='kit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('place', 'car'), ('vet__isnull', False)), models.Q(('place', 'base'), ('vet__isnull', True)), _connector='OR'), name='kit_in_a_named_car_or_at_base'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='kit',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_kitevent" ("id", "kind", "label", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "place", "practice_id", "ready_at", "state", "vet_id") VALUES (NEW."id", NEW."kind", NEW."label", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."place", NEW."practice_id", NEW."ready_at", NEW."state", NEW."vet_id"); RETURN NULL;', hash='52b9696c49158ec4d3f4defb7b544467395cffd3', operation='INSERT', pgid='pgtrigger_insert_insert_00a28', table='rotas_kit', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='kit',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_kitevent" ("id", "kind", "label", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "place", "practice_id", "ready_at", "state", "vet_id") VALUES (NEW."id", NEW."kind", NEW."label", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."place", NEW."practice_id", NEW."ready_at", NEW."state", NEW."vet_id"); RETURN NULL;', hash='347e14e42fc20226e4acd4731e3e3e83138c8e93', operation='UPDATE', pgid='pgtrigger_update_update_70f2f', table='rotas_kit', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='dutyrecordevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='faacb511ab66a9bc2f3721796b8dbcafd189c406', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_d133e', table='rotas_dutyrecordevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='dutyrecordevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='da9fbd78569949bb8f5c28aecb7fab232a1a4019', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_aab1a', table='rotas_dutyrecordevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='dutyrecord',
            constraint=django.contrib.postgres.constraints.ExclusionConstraint(expressions=[(models.Func(models.F('vet'), models.F('vet'), models.Value('[]'), function='int8range'), '&&'), ('period', '&&')], name='duty_one_at_a_time', violation_error_message='This vet has worked something else at that time.'),
        ),
        migrations.AddConstraint(
            model_name='dutyrecord',
            constraint=models.CheckConstraint(condition=models.Q(('period__isempty', False), ('period__lower_inf', False), ('period__upper_inf', False)), name='duty_ends_after_it_starts'),
        ),
        migrations.AddConstraint(
            model_name='dutyrecord',
            constraint=models.UniqueConstraint(fields=('vet', 'source', 'kind'), name='duty_once_per_source'),
        ),
        migrations.AddConstraint(
            model_name='dutyrecord',
            constraint=models.CheckConstraint(condition=models.Q(('drive_km__isnull', True), ('drive_km__gte', 0), _connector='OR'), name='duty_km_not_negative'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='dutyrecord',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_dutyrecordevent" ("drive_km", "id", "kind", "period", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "source", "vet_id") VALUES (NEW."drive_km", NEW."id", NEW."kind", NEW."period", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."source", NEW."vet_id"); RETURN NULL;', hash='977a5b1efb05bf03d3a62e8940c03cf43544279d', operation='INSERT', pgid='pgtrigger_insert_insert_fc78a', table='rotas_dutyrecord', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='dutyrecord',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_dutyrecordevent" ("drive_km", "id", "kind", "period", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "source", "vet_id") VALUES (NEW."drive_km", NEW."id", NEW."kind", NEW."period", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."source", NEW."vet_id"); RETURN NULL;', hash='ba81a058b9d6a7baee82de81ed8ea77f74c565a4', operation='UPDATE', pgid='pgtrigger_update_update_c52af', table='rotas_dutyrecord', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='draftdutyevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='04cb07d3e651b269a43db4968220c79db9d36000', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_2624a', table='rotas_draftdutyevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='draftdutyevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='a9ef97a9eda1a9c649ee7bda2a6b21af750bb449', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_64d39', table='rotas_draftdutyevent', when='BEFORE')),
        ),
        migrations.AddIndex(
            model_name='draftduty',
            index=models.Index(fields=['rota', 'day'], name='rotas_draft_rota_id_8ea681_idx'),
        ),
        migrations.AddConstraint(
            model_name='draftduty',
            constraint=models.CheckConstraint(condition=models.Q(('period__isempty', False), ('period__lower_inf', False), ('period__upper_inf', False)), name='draft_duty_ends_after_it_starts'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='draftduty',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_draftdutyevent" ("at_workplace", "by_hand", "day", "gap_reason", "id", "period", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "role", "rota_id", "shift_id", "site", "vet_id", "ways_out") VALUES (NEW."at_workplace", NEW."by_hand", NEW."day", NEW."gap_reason", NEW."id", NEW."period", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."role", NEW."rota_id", NEW."shift_id", NEW."site", NEW."vet_id", NEW."ways_out"); RETURN NULL;', hash='66e57f8d75b13446e7f4cfec286aa33603afe40a', operation='INSERT', pgid='pgtrigger_insert_insert_4efee', table='rotas_draftduty', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='draftduty',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_draftdutyevent" ("at_workplace", "by_hand", "day", "gap_reason", "id", "period", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "role", "rota_id", "shift_id", "site", "vet_id", "ways_out") VALUES (NEW."at_workplace", NEW."by_hand", NEW."day", NEW."gap_reason", NEW."id", NEW."period", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."role", NEW."rota_id", NEW."shift_id", NEW."site", NEW."vet_id", NEW."ways_out"); RETURN NULL;', hash='40c72b4ea971d4811468e0913bff597dcc570261', operation='UPDATE', pgid='pgtrigger_update_update_f3176', table='rotas_draftduty', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='calendarfeedevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='7680b8bf4ebf8024e3242d7e60c745c41dcc8f71', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_db1d1', table='rotas_calendarfeedevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='calendarfeedevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='22bc96396f1a977eda8220a274f80f7b777b40d5', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_41d6e', table='rotas_calendarfeedevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='calendarfeed',
            constraint=models.UniqueConstraint(fields=('secret_hash',), name='calendar_secret_once'),
        ),
        migrations.AddConstraint(
            model_name='calendarfeed',
            constraint=models.CheckConstraint(condition=models.Q(('revoked_at__isnull', True), ('revoked_at__gte', models.F('made_at')), _connector='OR'), name='calendar_revoked_after_made'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='calendarfeed',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_calendarfeedevent" ("id", "made_at", "made_by_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "revoked_at", "used_for", "vet_id") VALUES (NEW."id", NEW."made_at", NEW."made_by_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."revoked_at", NEW."used_for", NEW."vet_id"); RETURN NULL;', hash='36c9b1b86ede0ad36b3e469b3b394f2eea2de980', operation='INSERT', pgid='pgtrigger_insert_insert_efcfc', table='rotas_calendarfeed', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='calendarfeed',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD."id" IS DISTINCT FROM (NEW."id") OR OLD."made_at" IS DISTINCT FROM (NEW."made_at") OR OLD."made_by_id" IS DISTINCT FROM (NEW."made_by_id") OR OLD."practice_id" IS DISTINCT FROM (NEW."practice_id") OR OLD."revoked_at" IS DISTINCT FROM (NEW."revoked_at") OR OLD."used_for" IS DISTINCT FROM (NEW."used_for") OR OLD."vet_id" IS DISTINCT FROM (NEW."vet_id"))', func='INSERT INTO "rotas_calendarfeedevent" ("id", "made_at", "made_by_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "revoked_at", "used_for", "vet_id") VALUES (NEW."id", NEW."made_at", NEW."made_by_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."revoked_at", NEW."used_for", NEW."vet_id"); RETURN NULL;', hash='57fd6af2f65afe1ba1736739537d1d5131189e19', operation='UPDATE', pgid='pgtrigger_update_update_1bdb3', table='rotas_calendarfeed', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='vetevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='e82bc82a3055b09d9e1aab4397c48c17111103f5', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_367bf', table='rotas_vetevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='vetevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='4b3713deedd4a12894c6db3b413000d4eef8f22e', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_90ff7', table='rotas_vetevent', when='BEFORE')),
        ),
        migrations.AddConstraint(
            model_name='vetskill',
            constraint=models.UniqueConstraint(fields=('vet', 'skill'), name='skill_once_per_vet'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='vetskill',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "rotas_vetskillevent" ("id", "level", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "review_on", "skill", "vet_id") VALUES (NEW."id", NEW."level", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."practice_id", NEW."review_on", NEW."skill", NEW."vet_id"); RETURN NULL;', hash='bd8750009f45b7ea5b0d02cc5551c2ed40ec54e6', operation='INSERT', pgid='pgtrigger_insert_insert_a82aa', table='rotas_vetskill', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='vetskill',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "rotas_vetskillevent" ("id", "level", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "practice_id", "review_on", "skill", "vet_id") VALUES (NEW."id", NEW."level", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."practice_id", NEW."review_on", NEW."skill", NEW."vet_id"); RETURN NULL;', hash='20131afea7bab5eff5b534866857095918885868', operation='UPDATE', pgid='pgtrigger_update_update_a6d0f', table='rotas_vetskill', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='vetskillevent',
            trigger=pgtrigger.compiler.Trigger(name='no_truncate', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;", hash='eb65214c4871a38540205c23ff5503a3f9cf677a', level='STATEMENT', operation='TRUNCATE', pgid='pgtrigger_no_truncate_c43bd', table='rotas_vetskillevent', when='BEFORE')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='vetskillevent',
            trigger=pgtrigger.compiler.Trigger(name='append_only', sql=pgtrigger.compiler.UpsertTriggerSql(func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;", hash='78280d720861409be2811516c18b66e5b34e6d0d', operation='UPDATE OR DELETE', pgid='pgtrigger_append_only_b9749', table='rotas_vetskillevent', when='BEFORE')),
        ),
    ]
