"""Every question of assets/sql on DuckDB and on Spark, against `review --json` and `class --json`, and against each other.

python3 compare.py EARFIRST ASSETS_SQL WORK: WORK holds `students`; tables and what the engines need go below it.
Prints what was compared, and "skipped: ..." for an engine that is not there. Ends with 1 where a figure differs by more than 1e-12.
"""
import hashlib
import hmac
import json
import os
import shutil
import subprocess
import sys

PROGRAM, SQL, WORK = sys.argv[1:4]
NEAR = 1e-12
PART = ("player", "instrument", "simulated")


def run(*line):
    done = subprocess.run([PROGRAM, *line], cwd=WORK, capture_output=True, text=True, check=True,
                          env={**os.environ, "EARFIRST_DATA": os.path.join(WORK, "data")})
    return done.stdout


def pieces():
    """(question or None, text), in order; the text is cut at each semicolon that ends a line."""
    question, lines = None, []
    for line in open(os.path.join(SQL, "questions.sql"), encoding="utf-8"):
        if line.startswith("-- question: "):
            question = line.split()[2]
        lines.append(line)
        if line.rstrip().endswith(";") and not line.startswith("--"):
            yield question, "".join(lines).rstrip().rstrip(";")
            lines = []


def answers(ask):
    found = {}
    for question, text in pieces():
        rows = ask(text)
        if question:
            found[question] = rows
    return found


def on_duckdb():
    try:
        import duckdb
    except ImportError:
        return print("skipped: python3 has no duckdb")
    os.chdir(WORK)
    base = duckdb.connect()
    for text in open(os.path.join(SQL, "on-duckdb.sql"), encoding="utf-8").read().split(";\n"):
        if text.strip():
            base.execute(text)

    def ask(text):
        done = base.execute(text)
        names = [it[0] for it in done.description]
        return [dict(zip(names, row)) for row in done.fetchall()]
    return answers(ask)


def on_spark():
    if not shutil.which("java"):
        return print("skipped: no Java, so no Spark")
    try:
        from pyspark.sql import SparkSession
    except ImportError:
        return print("skipped: python3 has no pyspark")
    os.chdir(WORK)
    base = (SparkSession.builder.master(os.environ.get("SPARK_MASTER", "local[1]")).config("spark.ui.enabled", "false")
            .config("spark.driver.memory", "1g").config("spark.sql.shuffle.partitions", "2")
            .config("spark.driver.bindAddress", "127.0.0.1").config("spark.driver.host", "127.0.0.1").getOrCreate())
    base.sparkContext.setLogLevel("ERROR")
    for text in open(os.path.join(SQL, "on-spark.sql"), encoding="utf-8").read().split(";\n"):
        if text.strip():
            base.sql(text)
    found = answers(lambda text: [row.asDict() for row in base.sql(text).collect()])
    base.stop()
    return found


class Compared:
    def __init__(self):
        self.cells, self.apart, self.most = 0, [], 0.0

    def same(self, what, one, other, near=NEAR):
        self.cells += 1
        if isinstance(one, float) or isinstance(other, float):
            if one is None or other is None:
                return self.apart.append((what, one, other))
            off = abs(one - other) / max(1.0, abs(one), abs(other))
            self.most = max(self.most, off)
            if off > near:
                self.apart.append((what, one, other))
        elif one != other:
            self.apart.append((what, one, other))

    def told(self, title):
        print(f"{title}: {self.cells} figures, {len(self.apart)} differ, at most {self.most:.2g} apart")
        for it in self.apart[:10]:
            print("  ", *it)
        return not self.apart


def named(key):
    def of(player):
        word = (player or {}).get("id", "")
        return hmac.new(key, b"player\0" + word.encode(), hashlib.sha256).hexdigest()[:12]
    return of


def by(rows, *more):
    return {tuple(row[name] for name in (*PART, *more)): row for row in rows}


def with_review(found, review, group, of, compared):
    keys, pitches, kept = by(found["keys"], "concert_key"), by(found["pitches"], "sounded_midi"), by(found["kept"])
    reflex = by(found["reflex"], "concert_key", "form")
    seen = [0, 0, 0]
    for part in review["parts"]:
        whose = (of(part["player"]), part["instrument"], part["simulated"])
        for key in part["keys"]:
            row = keys.get((*whose, key["concert_key"]), {})
            seen[0] += 1
            for ours, theirs in [("cues", "cues"), ("answers", "answers"), ("whole_answers", "whole"), ("notes_right", "right"),
                                 ("notes_asked", "of"), ("first_tries", "first_tries"), ("first_whole", "first_whole"),
                                 ("pace", "pace_quarter_per_minute"), ("tempo_held", "tempo_held_quarter_per_minute"), ("late_s", "late_s")]:
                compared.same((whose, key["concert_key"], theirs), row.get(ours), key[theirs])
            for it in key["reflex"]:
                row = reflex.get((*whose, key["concert_key"], it["cue"]), {})
                seen[2] += 1
                for ours, theirs in [("times", "times"), ("reflex_s", "median_s"), ("spread_s", "spread_s")]:
                    compared.same((whose, key["concert_key"], it["cue"], theirs), row.get(ours), it[theirs])
        for pitch in part["pitches"]:
            row = pitches.get((*whose, pitch["midi"]), {})
            seen[1] += 1
            for name in ["written_midi", "times", "up_cents", "down_cents", "all_cents", "spread_cents"]:
                compared.same((whose, pitch["midi"], name), row.get(name), pitch[name])
        row = kept.get(whose, {})
        for ours, theirs in zip(("week", "month"), part["kept"]):
            compared.same((whose, ours, "whole"), row.get(f"{ours}_whole", 0), theirs["whole"])
            compared.same((whose, ours, "tries"), row.get(f"{ours}_tries", 0), theirs["tries"])
        for pattern in part["patterns"]:
            if any(it["pattern"] == pattern["pattern"] for it in found["pattern_keys"]):
                mine = [it for it in found["pattern_keys"] if tuple(it[n] for n in PART) == whose and it["pattern"] == pattern["pattern"]]
                compared.same((whose, pattern["pattern"]), sum(it["answers"] for it in mine), pattern["answers"])
    compared.same("rows of keys, pitches, reflex", seen, [len(found["keys"]), len(found["pitches"]), len(found["reflex"])])
    with_class(found, group, of, compared)


def with_class(found, group, of, compared):
    told, bests = {"stopped": {}, "no_rest": {}, "left_behind": {}}, {}
    for row in group["players"]:
        whose = (of(row["player"]), row["instrument"], row["simulated"])
        for reason in row["reasons"]:
            if reason["reason"] == "left_behind":
                for key in reason["keys"]:
                    told["left_behind"][(*whose, reason["pattern"], key["concert_key"])] = (key["last_day"], key["whole"], key["of"])
                    bests[(*whose, reason["pattern"], key["concert_key"])] = (
                        key["best_quarter_per_minute"], key["others_best_quarter_per_minute"])
            elif reason["reason"] == "stopped":
                told["stopped"][whose] = (reason["last_day"], reason["days"])
            elif reason["reason"] == "no_rest":
                told["no_rest"][whose] = (reason["days"], reason["day"], reason["longest_s"])
    ours = {
        "stopped": {k: (v["last_day"], v["days"]) for k, v in by(found["stopped"]).items()},
        "no_rest": {k: (v["days"], v["day_number"], v["longest_s"]) for k, v in by(found["no_rest"]).items()},
        "left_behind": {k: (v["last_day"], v["whole_answers"], v["answers"])
                        for k, v in by(found["left_behind"], "pattern", "concert_key").items()},
    }
    for reason, rows in told.items():
        print(f"reason {reason}: {len(rows)} in `class`")
        for whose in {**rows, **ours[reason]}:
            compared.same((reason, whose), ours[reason].get(whose), rows.get(whose))
    for whose, row in by(found["left_behind"], "pattern", "concert_key").items():
        for ours, theirs in zip(("best", "others_best"), bests.get(whose, (None, None))):
            compared.same(("left_behind", whose, ours), row[ours], theirs)


def counted_pitches(found, compared):
    counted = {(*(row[n] for n in PART), row["sounded_midi"], row["way"]): row for row in found["pitches_counted"]}
    for row in found["pitches"]:
        for way in ("all", "up", "down"):
            if row[f"{way}_cents"] is not None:
                there = counted.get((*(row[n] for n in PART), row["sounded_midi"], way), {})
                off = abs(row[f"{way}_cents"] - there.get("cents", 1e9))
                compared.most = max(compared.most, off)
                compared.cells += 1
                if off > 0.005 + 1e-9:
                    compared.apart.append((row["player"], row["sounded_midi"], way, row[f"{way}_cents"], there.get("cents")))


def few(found):
    return [(name, row) for name in ("hard_patterns", "horn_or_player", "lesson_help") for row in found[name] if row["players"] < 5]


def main():
    run("tables", "students", "--to", "tables", "--key", "own/school.key")
    of = named(bytes.fromhex(open(os.path.join(WORK, "own/school.key"), encoding="ascii").read().strip()))
    review = json.loads(run("review", "students", "--json"))
    last = max(sitting["day"] for part in review["parts"] for sitting in part["sittings"])
    import datetime
    day = (datetime.date(1970, 1, 1) + datetime.timedelta(days=last)).isoformat()
    group = json.loads(run("class", "students", "--json", "--day", day))
    engines = {"DuckDB": on_duckdb(), "Spark": on_spark()}
    there = {name: found for name, found in engines.items() if found}
    good = True
    for name, found in there.items():
        print(name, *(f"{question} {len(rows)}" for question, rows in found.items()))
        compared = Compared()
        with_review(found, review, group, of, compared)
        good &= compared.told(f"{name} against review and class")
        compared = Compared()
        counted_pitches(found, compared)
        good &= compared.told(f"{name}, hundredths counted against medians (cents)")
        good &= not few(found)
    if len(there) == 2:
        compared = Compared()
        one, other = there.values()
        for question in one:
            compared.same((question, "rows"), len(one[question]), len(other[question]))
            for n, (a, b) in enumerate(zip(one[question], other[question])):
                for column in a:
                    compared.same((question, n, column), a[column], b[column])
        good &= compared.told("DuckDB against Spark")
    sys.exit(0 if good else 1)


main()
