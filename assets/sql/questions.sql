-- What a teacher and a school ask of the tables that `earfirst tables` writes. One text for DuckDB and for Apache Spark (ANSI on).
--
-- It reads `sittings`, `answers` and `notes` (columns: src/report/tables/mod.rs) and changes nothing. The caller makes these three views,
-- cuts the text at each semicolon that ends a line, and runs the pieces in order: pieces that create views first, then the questions,
-- each under a line that begins with "-- question:". Nothing is to be put in or taken out.
--
-- Figures are those of `earfirst review --json` and `earfirst class --json`, by the words of src/report/mod.rs. A part is one player on one
-- instrument; what the simulated player answered is a part of its own. Middle: median. Today: the latest day of all sittings.
-- A question that speaks of all players shows no row of fewer than five. Nobody is ranked: rows stand in the order of pseudonyms.
-- Not asked here: whether the same fault came back, for the sentences about faults never leave the records.

create or replace temp view tried as
select *,
  case when scored then row_number() over (
    partition by player, instrument, simulated, pattern, concert_key, day_number, scored order by started_s, sitting, turn) end as try_of_day
from answers;

create or replace temp view in_tune as
select player, instrument, simulated, day_number, sounded_midi, written_midi, came, cents
from notes where scored and label = 'right' and cents is not null;

-- A view and not a part of its question: an engine that keeps what is used twice would keep every note.
create or replace temp view in_hundredths as
select player, instrument, simulated, sounded_midi, way, cast(floor(cents * 100 + 0.5) as int) as hundredths,
  cast(floor(floor(cents * 100 + 0.5) / 100) as int) as cent
from in_tune join (select 'all' as way union all select 'up' as way union all select 'down' as way) ways on way = 'all' or way = came;

create or replace temp view latest_day as select max(day_number) as today from sittings;

-- question: keys
-- The twelve keys of each part: cues, answers, right at once, and the middle pace of answers that went up.
select player, instrument, simulated, concert_key, max(written_key) as written_key, max(coalesce(key_place, -1)) as key_place,
  count(*) filter (where counts and not sounded_again) as cues, count(*) filter (where scored) as answers,
  count(*) filter (where whole) as whole_answers,
  cast(coalesce(sum(notes_right), 0) as bigint) as notes_right, cast(coalesce(sum(notes_asked), 0) as bigint) as notes_asked,
  count(*) filter (where try_of_day = 1) as first_tries, count(*) filter (where try_of_day = 1 and whole) as first_whole,
  median(pace) filter (where passed) as pace, max(held_tempo) filter (where passed) as tempo_held, median(late_s) as late_s
from tried group by player, instrument, simulated, concert_key
having count(*) filter (where (counts and not sounded_again) or scored) > 0
order by player, instrument, simulated, key_place, concert_key;

-- question: reflex
-- Reflex times of each key by the form of its cue: the middle, and the middle distance from it.
with middles as (
  select player, instrument, simulated, concert_key, form, count(*) as times, median(reflex_s) as reflex_s
  from tried where scored and reflex_counts group by player, instrument, simulated, concert_key, form)
select m.player, m.instrument, m.simulated, m.concert_key, m.form, m.times, m.reflex_s, median(abs(t.reflex_s - m.reflex_s)) as spread_s
from middles m join tried t on m.player = t.player and m.instrument = t.instrument and m.simulated = t.simulated
  and m.concert_key = t.concert_key and m.form = t.form
where t.scored and t.reflex_counts
group by m.player, m.instrument, m.simulated, m.concert_key, m.form, m.times, m.reflex_s
order by m.player, m.instrument, m.simulated, m.concert_key, m.form;

-- question: pattern_keys
-- Each pattern in each key: on how many days, how often right, how quick, and how far the middle half of the reflex times reaches.
select player, instrument, simulated, pattern, concert_key, count(distinct day_number) as days, count(*) as answers,
  cast(sum(notes_right) as double) / nullif(sum(notes_asked), 0) as right_share,
  cast(count(*) filter (where try_of_day = 1 and whole) as double) / nullif(count(*) filter (where try_of_day = 1), 0) as first_try_share,
  median(reflex_s) filter (where reflex_counts) as reflex_s,
  percentile_cont(0.75) within group (order by reflex_s) filter (where reflex_counts)
    - percentile_cont(0.25) within group (order by reflex_s) filter (where reflex_counts) as reflex_half_s,
  max(held_tempo) filter (where passed) as tempo_held
from tried where scored group by player, instrument, simulated, pattern, concert_key
order by player, instrument, simulated, pattern, concert_key;

-- question: kept
-- Keys that came back after a week and after a month away: how many were all right at the first answer; beside that, all first tries.
select player, instrument, simulated,
  count(*) filter (where away_days between 7 and 29 and whole) as week_whole, count(*) filter (where away_days between 7 and 29) as week_tries,
  count(*) filter (where away_days >= 30 and whole) as month_whole, count(*) filter (where away_days >= 30) as month_tries,
  count(*) filter (where try_of_day = 1 and whole) as first_whole, count(*) filter (where try_of_day = 1) as first_tries
from tried where scored group by player, instrument, simulated order by player, instrument, simulated;

-- question: pitches
-- The intonation of every pitch of each part, going up, going down and altogether. Medians keep every value: for a year of a school ask the next.
with middles as (
  select player, instrument, simulated, sounded_midi, max(written_midi) as written_midi, count(*) as times, median(cents) as all_cents,
    median(cents) filter (where came = 'up') as up_cents, median(cents) filter (where came = 'down') as down_cents
  from in_tune group by player, instrument, simulated, sounded_midi),
spreads as (
  select m.player, m.instrument, m.simulated, m.sounded_midi, median(abs(i.cents - m.all_cents)) as spread_cents
  from middles m join in_tune i on m.player = i.player and m.instrument = i.instrument and m.simulated = i.simulated
    and m.sounded_midi = i.sounded_midi
  group by m.player, m.instrument, m.simulated, m.sounded_midi)
select m.player, m.instrument, m.simulated, m.sounded_midi, m.written_midi, m.times, m.up_cents, m.down_cents, m.all_cents, s.spread_cents
from middles m join spreads s on m.player = s.player and m.instrument = s.instrument and m.simulated = s.simulated
  and m.sounded_midi = s.sounded_midi
order by m.player, m.instrument, m.simulated, m.sounded_midi;

-- question: pitches_counted
-- The same middles for a year of a school, true to .005 cents: whole cents are counted first, and hundredths only within the cent, or the
-- two, where the middle lies, so that no list of values is kept.
with counted as (
  select player, instrument, simulated, sounded_midi, way, cent, count(*) as times
  from in_hundredths group by player, instrument, simulated, sounded_midi, way, cent),
summed as (
  select *, sum(times) over (partition by player, instrument, simulated, sounded_midi, way order by cent
      rows between unbounded preceding and current row) as so_far,
    sum(times) over (partition by player, instrument, simulated, sounded_midi, way) as total
  from counted),
middles as (
  select player, instrument, simulated, sounded_midi, way, max(total) as total, min(so_far - times) filter (where 2 * so_far >= total) as below,
    min(cent) filter (where 2 * so_far >= total) as low_cent, min(cent) filter (where 2 * so_far > total) as high_cent
  from summed group by player, instrument, simulated, sounded_midi, way),
near as (
  select h.player, h.instrument, h.simulated, h.sounded_midi, h.way, m.total, m.below, h.hundredths, count(*) as times
  from in_hundredths h join middles m on h.player = m.player and h.instrument = m.instrument and h.simulated = m.simulated
    and h.sounded_midi = m.sounded_midi and h.way = m.way
  where h.cent = m.low_cent or h.cent = m.high_cent
  group by h.player, h.instrument, h.simulated, h.sounded_midi, h.way, m.total, m.below, h.hundredths),
reached as (
  select *, below + sum(times) over (partition by player, instrument, simulated, sounded_midi, way order by hundredths
    rows between unbounded preceding and current row) as so_far
  from near)
select player, instrument, simulated, sounded_midi, way, cast(max(total) as bigint) as times,
  cast(min(hundredths) filter (where 2 * so_far >= total) + min(hundredths) filter (where 2 * so_far > total) as double) / 200 as cents
from reached group by player, instrument, simulated, sounded_midi, way
order by player, instrument, simulated, sounded_midi, way;

-- question: stopped
-- Parts without a sitting for seven days or more.
select player, instrument, simulated, max(day_number) as last_day, max(today) - max(day_number) as days
from sittings cross join latest_day group by player, instrument, simulated
having max(today) - max(day_number) >= 7
order by player, instrument, simulated;

-- question: no_rest
-- Parts that went on for half an hour in the last seven days without a pause of half a minute: on how many days, the longest such time, and
-- its day.
with lately as (
  select player, instrument, simulated, day_number, longest_s,
    row_number() over (partition by player, instrument, simulated order by longest_s desc, day_number desc, started_s desc) as place
  from sittings cross join latest_day where day_number > today - 7 and day_number <= today and longest_s >= 1800),
counted as (
  select player, instrument, simulated, count(distinct day_number) as days from lately group by player, instrument, simulated)
select l.player, l.instrument, l.simulated, c.days, l.day_number, l.longest_s
from lately l join counted c on l.player = c.player and l.instrument = c.instrument and l.simulated = c.simulated
where l.place = 1 order by l.player, l.instrument, l.simulated;

-- question: left_behind
-- Weak keys that do not come back: not answered on the last three days on which their pattern was practised; only where these three lie
-- within two weeks. Weak are keys with fewer than half of their latest eight answers (at least four) all right, and keys whose best is
-- reached 1.25 times or more by the middle best of the keys that were answered since. Best: the quickest tempo that an answer in tempo
-- held, where it went up, on the latest three days on which the key was answered.
with days as (select distinct player, instrument, simulated, pattern, day_number from tried where scored),
numbered as (
  select *, row_number() over (partition by player, instrument, simulated, pattern order by day_number desc) as back from days),
since as (
  select player, instrument, simulated, pattern, day_number as third_last
  from numbered cross join latest_day where back = 3 and day_number > today - 14),
latest as (
  select player, instrument, simulated, pattern, concert_key, day_number, whole, case when in_tempo and passed then held_tempo end as held,
    row_number() over (partition by player, instrument, simulated, pattern, concert_key order by day_number desc, started_s desc, sitting desc, turn desc) as back,
    dense_rank() over (partition by player, instrument, simulated, pattern, concert_key order by day_number desc) as days_back
  from tried where scored),
known as (
  select l.player, l.instrument, l.simulated, l.pattern, l.concert_key, max(s.third_last) as third_last, max(l.day_number) as last_day,
    count(*) filter (where l.back <= 8 and l.whole) as whole_answers, count(*) filter (where l.back <= 8) as answers,
    max(l.held) filter (where l.days_back <= 3) as best
  from latest l join since s on l.player = s.player and l.instrument = s.instrument and l.simulated = s.simulated and l.pattern = s.pattern
  where l.back <= 8 or l.days_back <= 3
  group by l.player, l.instrument, l.simulated, l.pattern, l.concert_key),
since_then as (
  select player, instrument, simulated, pattern, median(best) as others_best
  from known where last_day >= third_last group by player, instrument, simulated, pattern)
select k.player, k.instrument, k.simulated, k.pattern, k.concert_key, k.last_day, k.whole_answers, k.answers, k.best, t.others_best
from known k join since_then t on k.player = t.player and k.instrument = t.instrument and k.simulated = t.simulated and k.pattern = t.pattern
where k.last_day < k.third_last
  and ((k.answers >= 4 and 2 * k.whole_answers < k.answers) or t.others_best >= 1.25 * k.best)
order by k.player, k.instrument, k.simulated, k.pattern, k.concert_key;

-- question: second_task
-- What counting taps costs: the answers of blocks with counting and of blocks without. `numbers_right` of `numbers`: who does not count
-- pays nothing. `review` joins answers of one key in pairs besides; here the two kinds stand side by side.
with counted as (
  select player, instrument, simulated, cast(sum(blocks_counted) as bigint) as numbers, cast(sum(blocks_counted_right) as bigint) as numbers_right
  from sittings group by player, instrument, simulated)
select a.player, a.instrument, a.simulated, a.pattern, a.counting, count(*) as answers, count(*) filter (where a.beside_whole) as whole_answers,
  median(a.beside_late_s) as late_s, median(a.beside_uneven_s) as uneven_s, max(c.numbers) as numbers, max(c.numbers_right) as numbers_right
from answers a join counted c on a.player = c.player and a.instrument = c.instrument and a.simulated = c.simulated
where a.counting is not null and a.beside_whole is not null
group by a.player, a.instrument, a.simulated, a.pattern, a.counting
order by a.player, a.instrument, a.simulated, a.pattern, a.counting;

-- question: hard_patterns
-- Patterns over all players. Each player's own figure comes first and their middle after it, so that who plays much counts once. A figure
-- that fewer than five of the players have is left out.
with own as (
  select simulated, pattern, player, count(*) as answers,
    cast(count(*) filter (where try_of_day = 1 and whole) as double) / nullif(count(*) filter (where try_of_day = 1), 0) as first_try_share,
    median(reflex_s) filter (where reflex_counts) as reflex_s, median(held_tempo / asked_tempo) filter (where passed) as held_of_asked
  from tried where scored group by simulated, pattern, player)
select simulated, pattern, count(*) as players, cast(sum(answers) as bigint) as answers, median(first_try_share) as first_try_share,
  case when count(reflex_s) >= 5 then median(reflex_s) end as reflex_s,
  case when count(held_of_asked) >= 5 then median(held_of_asked) end as held_of_asked
from own group by simulated, pattern having count(*) >= 5
order by simulated, pattern;

-- question: horn_or_player
-- Where the players of an instrument lie to the same side of a written note, the instrument pulls it; where they lie apart, it is theirs.
-- Each player's middle of eight notes or more comes first. same_side: the share of players more than three cents to the side of the middle.
with own as (
  select instrument, simulated, written_midi, player, median(cents) as cents
  from in_tune where written_midi is not null group by instrument, simulated, written_midi, player having count(*) >= 8),
middles as (
  select instrument, simulated, written_midi, count(*) as players, median(cents) as cents
  from own group by instrument, simulated, written_midi having count(*) >= 5)
select m.instrument, m.simulated, m.written_midi, m.players, m.cents, median(abs(o.cents - m.cents)) as apart_cents,
  cast(count(*) filter (where abs(o.cents) > 3 and o.cents * m.cents > 0) as double) / count(*) as same_side
from middles m join own o on m.instrument = o.instrument and m.simulated = o.simulated and m.written_midi = o.written_midi
group by m.instrument, m.simulated, m.written_midi, m.players, m.cents
order by m.instrument, m.simulated, m.written_midi;

-- question: lesson_help
-- Does a lesson help? First tries of a day in the four weeks before a player's first day of it and in the four weeks after the last:
-- in what it set, and, beside that, in everything else the same player practised. What grew in both alike is practice, not the lesson.
-- Only players with four first tries or more on each of the four sides; no proof, for nobody drew who gets a lesson.
with taken as (
  select player, instrument, simulated, lesson, min(day_number) as first_day, max(day_number) as last_day
  from answers where scored and lesson is not null group by player, instrument, simulated, lesson),
set_keys as (
  select distinct player, instrument, simulated, lesson, pattern, concert_key from answers where scored and lesson is not null),
sides as (
  select l.player, l.instrument, l.simulated, l.lesson, k.pattern is not null as was_set, f.day_number > l.last_day as later, f.whole
  from taken l join tried f on l.player = f.player and l.instrument = f.instrument and l.simulated = f.simulated
  left join set_keys k on l.player = k.player and l.instrument = k.instrument and l.simulated = k.simulated and l.lesson = k.lesson
    and f.pattern = k.pattern and f.concert_key = k.concert_key
  where f.try_of_day = 1 and f.day_number between l.first_day - 28 and l.last_day + 28
    and (f.day_number < l.first_day or f.day_number > l.last_day)),
own as (
  select player, instrument, simulated, lesson,
    cast(count(*) filter (where was_set and not later and whole) as double) / nullif(count(*) filter (where was_set and not later), 0) as set_before,
    cast(count(*) filter (where was_set and later and whole) as double) / nullif(count(*) filter (where was_set and later), 0) as set_after,
    cast(count(*) filter (where not was_set and not later and whole) as double) / nullif(count(*) filter (where not was_set and not later), 0) as else_before,
    cast(count(*) filter (where not was_set and later and whole) as double) / nullif(count(*) filter (where not was_set and later), 0) as else_after
  from sides group by player, instrument, simulated, lesson
  having count(*) filter (where was_set and not later) >= 4 and count(*) filter (where was_set and later) >= 4
    and count(*) filter (where not was_set and not later) >= 4 and count(*) filter (where not was_set and later) >= 4)
select simulated, lesson, count(distinct player) as players, median(set_before) as set_before, median(set_after) as set_after,
  median(set_after - set_before) as set_change, median(else_after - else_before) as else_change
from own group by simulated, lesson having count(distinct player) >= 5
order by simulated, lesson;
