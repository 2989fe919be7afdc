"""Made-up farm names. Common words stand in combinations that name no place known to us."""

FARMS = (
    "Tarrowgate Farm", "High Lissel", "Oxterfold", "Quillet Bank", "Marrow Head", "Netherculver",
    "Skelside Farm", "Tibber Grange", "Pellowmoor", "Wexlow Barns", "Corrow Hall Farm", "Dunnaker Mill",
    "Hobbleside Top", "Fennelthwaite", "Brindlecote", "Sallowmire", "Lapwing Ings", "Ravelgarth",
    "Upper Quenby Fold", "Drumbolt Lathe", "Kestrelhow", "Mizzlefield", "Gorselap", "Catchwater Farm",
    "Ottermead Fold", "Long Culver", "Bellrigg End", "Nettlepike", "Swarthside Hall", "Hagglebeck",
    "Peewit Scar Farm", "Cobblemoor", "Windlestack", "Low Marrowfold", "Buttermoss Farm", "Crakewell",
    "Hawbush Lathe", "Lissel Ford Farm", "Tanglewath", "Rushy Skel", "Mossgrove Lathe", "Yarrowsyke",
    "Drovers Quell", "Featherlow", "Stonecrake", "Nun Meadows", "Wetherstall", "Harebell Garth",
    "Thistlecrook", "Foldyard Nook", "Smearwath", "Twinter Hill Farm", "Gimmerdale", "Staggarth",
    "Bullspit Farm", "Cushat Lathe", "Peasemoor End", "Sowerclough Fold", "Little Wexlow", "Farrowmere Fold",
)  # fmt: skip
