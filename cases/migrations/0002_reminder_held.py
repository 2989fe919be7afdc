from django.db import migrations, models
from rotas.additive import AdditiveMigration


class Migration(AdditiveMigration):

    dependencies = [
        ('cases', '0001_first_release'),
    ]

    operations = [
        migrations.AlterField(
            model_name='reminder',
            name='kind',
            field=models.CharField(choices=[('given', 'what was given'), ('milk_ends', 'first saleable milking'), ('meat_ends', 'meat may be sold'), ('eggs_ends', 'eggs may be sold'), ('changed', 'changed date'), ('recheck', 'recheck'), ('not_yet', 'not yet to be sold'), ('sale_held', 'sale of an animal that is held'), ('meat_soon', 'meat soon clear, before a sale'), ('long_hold', 'long hold, monthly'), ('held', 'held from now on')], max_length=20),
        ),
        migrations.AlterField(
            model_name='reminderevent',
            name='kind',
            field=models.CharField(choices=[('given', 'what was given'), ('milk_ends', 'first saleable milking'), ('meat_ends', 'meat may be sold'), ('eggs_ends', 'eggs may be sold'), ('changed', 'changed date'), ('recheck', 'recheck'), ('not_yet', 'not yet to be sold'), ('sale_held', 'sale of an animal that is held'), ('meat_soon', 'meat soon clear, before a sale'), ('long_hold', 'long hold, monthly'), ('held', 'held from now on')], max_length=20),
        ),
    ]
