"""Builds the whole site into site/: the guide, the browser's runtime, the policy, and the offline release.

    python3 scripts/build.py              build
    python3 scripts/build.py --archive    and pack it as dist/loftbook-VERSION-site.zip, with a server to start it offline
"""

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from concurrent.futures import ThreadPoolExecutor
from importlib import metadata
from pathlib import Path

import house
import notices
import policy
import runtime
from house import ROOT, SITE, digest, run, say, step, tool

# Nothing asks for these: maps for debugging the theme, search stemmers of other languages, a second form of the site map.
UNUSED = ("**/*.map", "assets/javascripts/lunr/**/*", "sitemap.xml.gz")
NOT_KEPT = {"offline-worker.js", "_headers"}  # for the browser and the host, not for a page


def files_of(site: Path) -> set[str]:
    return {file.relative_to(site).as_posix() for file in site.rglob("*") if file.is_file()}


def write_pages(site: Path) -> None:
    run(tool("python"), "-m", "mkdocs", "build", "--quiet", "--strict", "--clean", "--site-dir", site,
        env=os.environ | {"NO_MKDOCS_2_WARNING": "1"})
    for pattern in UNUSED:
        for file in site.glob(pattern):
            if file.is_file():
                file.unlink()


def search_late(site: Path) -> None:
    """Let the theme make its search index when a reader opens the search, as it does without a server, and not on every page.

    It keeps a core busy for the moment in which the calculators start.
    """
    (bundle,) = site.glob("assets/javascripts/bundle.*.min.js")
    text, count = re.subn(r'\(location\.protocol!=="file:"\)(?=,\w+\("search"\))', "(!1)", bundle.read_text())
    if count != 1:
        raise SystemExit("the theme starts its search in another way now: see search_late")
    bundle.write_text(text)


EARLY = """<script>try{if(navigator.serviceWorker.controller){self.loftbookEarly=new Worker("%sassets/live/worker.js",\
{type:"module",name:"loftbook"});loftbookEarly.onerror=()=>{self.loftbookEarly=null};\
loftbookEarly.postMessage({kind:"start",how:"snapshot"})}}catch{}</script>"""


def wake_early(site: Path) -> None:
    """Let a kept page with a calculator start the worker before it is read to the end; messenger.js takes it over.

    On a first visit all of it comes over the line anyhow, and beside Python a phone lays out the page late: messenger.js starts it then.
    """
    links = "".join(f'<link rel="modulepreload" href="%sassets/live/{name}">' for name in ("start.js", "messenger.js"))
    for page in site.rglob("index.html"):
        html = page.read_text()
        if "<loft-calculator" in html:
            early = (EARLY + links).replace("%s", "../" * (len(page.relative_to(site).parts) - 1))
            page.write_text(policy.CHARSET.sub(lambda found, early=early: found[0] + early, html, count=1))


def join(module: Path, how: str, *left_alone: str) -> None:
    """Make a module or style and what it imports one file, "small" or "plain": one request instead of many, each of which the service worker must answer."""
    joined = module.with_name(f"{module.stem}.joined{module.suffix}")
    done = subprocess.run([tool("node"), ROOT / "scripts/bundle.mjs", module, joined, how, *left_alone],
                          stdout=subprocess.PIPE, cwd=ROOT, check=True)
    for part in map(Path, json.loads(done.stdout)):
        if module.parent.resolve() in part.resolve().parents:  # a library's own files stay
            part.unlink()
    joined.rename(module)


def mark_pages(site: Path) -> None:
    """Tell every page of which release it is, by a digest of all that is in it: next.js puts no page in the place of one of another."""
    mark = f'<meta name="loftbook-release" content="{digest(site)[:12]}">'
    for page in site.rglob("*.html"):
        page.write_text(policy.CHARSET.sub(lambda found: found[0] + mark, page.read_text(), count=1))


def write_release(site: Path) -> dict:
    """The service worker; its list must be exactly what is there."""
    done = subprocess.run([tool("node"), ROOT / "scripts/release.mjs", site, metadata.version("loftbook")],
                          stdout=subprocess.PIPE, cwd=ROOT, check=False)
    if done.returncode:
        sys.exit("the offline release could not be made")
    release = json.loads(done.stdout)
    kept, there = set(release["files"]), files_of(site) - NOT_KEPT
    if kept != there:
        sys.exit(f"the offline release is not whole: {sorted(kept ^ there)}")
    return release


def build(site: Path = SITE) -> None:
    """Made beside the old one and then put in its place, so that nobody is served half a site."""
    making = site.with_name(site.name + ".making")
    with step("the browser's runtime"):
        runtime.ensure()
    with step("the pages"):
        write_pages(making)
    with step("the scripts and the policy"):
        runtime.place(making)
        live = making / "assets/live"
        with ThreadPoolExecutor() as at_once:
            joined = [at_once.submit(join, style, "small") for style in sorted(making.glob("assets/style/*.css"))]
            joined.append(at_once.submit(join, live / "worker.js", "plain"))  # it holds facts that are looked up in it
            joined.append(at_once.submit(join, live / "start.js", "small", "*/messenger.js"))
        for one in joined:
            one.result()
        notices.write(making)
        wake_early(making)
        search_late(making)
        hashes = policy.apply(making)
        mark_pages(making)
    with step("the offline release"):
        release = write_release(making)
    shutil.rmtree(site, ignore_errors=True)
    making.rename(site)
    size = sum((site / name).stat().st_size for name in release["files"])
    say(f"  release {release['release']}: {len(release['files'])} files, {size / 1e6:.1f} MB unpacked, "
        f"{len(hashes)} inline scripts allowed")


def archive(site: Path = SITE) -> Path:
    """The site as one file, to carry to a field without a network."""
    name = f"loftbook-{metadata.version('loftbook')}-site"
    out = ROOT / "dist" / f"{name}.zip"
    out.parent.mkdir(exist_ok=True)
    parts = {f"site/{file}": (site / file).read_bytes() for file in files_of(site)}
    parts["serve.py"] = (ROOT / "scripts" / "server.py").read_bytes()
    parts["READ-ME.txt"] = b"Start it with any Python 3: python3 serve.py site\nThen open the address it prints.\n"
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for file, content in sorted(parts.items()):  # with one date and one mode, so that the same site is the same file
            packed.writestr(zipfile.ZipInfo(f"{name}/{file}"), content, zipfile.ZIP_DEFLATED)
    return out


def main() -> None:
    parser = argparse.ArgumentParser(description="Build the guide.")
    parser.add_argument("--archive", action="store_true", help="also pack it into one file")
    given = parser.parse_args()
    with step("all of it"):
        build()
    if given.archive:
        say(f"  {archive().relative_to(ROOT)}")


if __name__ == "__main__":
    house.go_inside()
    main()
