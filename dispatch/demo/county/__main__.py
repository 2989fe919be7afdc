"""Write the county's files again: `python -m dispatch.demo.county`."""

from dispatch.demo.county.files import DATA, county_files


def main() -> None:
    """Build the county and write its three files."""
    DATA.mkdir(exist_ok=True)
    for name, text in county_files().items():
        (DATA / name).write_text(text, encoding="utf-8")
        print(f"{name}: {len(text.encode()) / 1000:.0f} kB")


if __name__ == "__main__":
    main()
