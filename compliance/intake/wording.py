"""What the questions say, in English and Spanish. Labels of fields and of their answers come from the field table.

Only phrases that are no label of a field stand here. Terms follow docs/spanish.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Final

LANGUAGES: Final = ("en", "es")

PHRASES: Final[Mapping[str, tuple[str, str]]] = {
    # what Enter and the letters mean
    "enter not yet": ("Enter = not recorded yet", "Enter = todavía sin anotar"),
    "enter date": ("Enter = {date}, {day}", "Enter = {date}, {day}"),
    "enter keep": ("Enter = keep it", "Enter = dejarlo así"),
    "enter each": ("Enter = at each stop that was worked", "Enter = en cada parada trabajada"),
    "enter no more": ("Enter = no more", "Enter = nada más"),
    "not looked": ("did not look", "no miré"),
    "not read": ("did not read", "no lo leí"),
    "empty": ("empty", "vacío"),
    "full": ("full to the float", "lleno hasta el flotador"),
    "not known": ("not known", "no sé"),
    "later": ("later", "después"),
    "not applicable": ("not applicable", "no aplica"),
    "other": ("another, by name", "otro, por su nombre"),
    # what kind of answer is taken
    "hint key": ("press one key, without Enter", "oprima una tecla, sin Enter"),
    "hint name": ("a number from the list or a name, then Enter", "un número de la lista o un nombre, y Enter"),
    "hint new name": ("write its name, then Enter", "escriba su nombre, y Enter"),
    "no such number": ("{number} is no number of a list here", "aquí {number} no es un número de la lista"),
    "hint point": ("write decimals with a point, like {figure}", "escriba los decimales con punto, como {figure}"),
    "hint comma": (
        "write it without a comma, {whole}; or with a point if these are decimals, {figure}",
        "escríbalo sin coma, {whole}; o con punto si son decimales, {figure}",
    ),
    "hint thousand": (
        "write it without a point, {whole}; or like this if these are decimals, {figure}",
        "escríbalo sin punto, {whole}; o así si son decimales, {figure}",
    ),
    "hint ticket": ("its number, then Enter", "su número, y Enter"),
    "hint text": ("write it in words, then Enter", "escríbalo con palabras, y Enter"),
    "hint amount": ("{unit} like 450 or ~450, or n = did not read", "{unit} como 450 o ~450, o n = no lo leí"),
    "in gal": ("gallons", "galones"),
    "in L": ("liters", "litros"),
    "hint figure": ("the figure as it stands, or n = did not read", "la cifra como está, o n = no lo leí"),
    "hint level": (
        "inches like 12.5, a volume like 140 gal, e = empty, f = full, or n = did not read",
        "pulgadas como 12.5, un volumen como 140 gal, e = vacío, f = lleno, o n = no lo leí",
    ),
    "hint over": (
        "the level as it stands, or n = did not read; the same figure again keeps it",
        "el nivel como está, o n = no lo leí; la misma cifra otra vez la deja así",
    ),
    "hint date": ("year, month, day like 2026-09-14; y = yesterday", "año, mes, día como 2026-09-14; a = ayer"),
    "hint time": ("a time like 21:30, or n = did not look", "una hora como 21:30, o n = no miré"),
    "hint stop": ("the number of the stop, then Enter", "el número de la parada, y Enter"),
    "not understood": ("{text} is not an answer here", "{text} no se entiende aquí"),
    "needed": ("this one is needed", "esta respuesta hace falta"),
    # the questions that are no single field
    "date": ("Date on which the night started", "Fecha en que empezó la noche"),
    "step 0": ("First", "Primero"),
    "step": ("After stop {n}", "Después de la parada {n}"),
    "step more": ("And then", "Y después"),
    "do stop": ("a stop", "una parada"),
    "do take on": ("filled with fresh water", "tomé agua limpia"),
    "do hand over": ("water handed over (dump)", "entrega del agua"),
    "do tank full": ("tank filled to the float", "el tanque se llenó hasta el flotador"),
    "do use again": ("water used again", "agua reutilizada"),
    "do escape": ("water got away", "se escapó agua"),
    "do reading": ("a reading of a tank or meter", "una lectura de tanque o medidor"),
    "do cancelled": ("the whole run was cancelled", "la salida se canceló"),
    "do done": ("that was the last", "eso fue lo último"),
    "site": ("Stop {n}: which site", "Parada {n}: qué sitio"),
    "worked": ("Stop {n}, {site}", "Parada {n}, {site}"),
    "yes worked": ("worked", "trabajé"),
    "not worked": ("not worked", "no trabajé"),
    "why not": ("Not worked because", "No trabajé porque"),
    "near": ("{name} is not on the register", "{name} no está en las listas"),
    "near yes": ("{near} is meant", "es {near}"),
    "near no": ("keep {name}", "dejar {name}"),
    "near alone": ("{name} is meant", "sí, es {name}"),
    "at": ("At what time", "A qué hora"),
    "on day": ("On which day", "Qué día"),
    "tank after": ("How the tank was afterwards", "Cómo quedó el tanque"),
    "a level": ("a level, to be typed", "un nivel, por escribir"),
    "taken from": ("Where the fresh water came from", "De dónde vino el agua limpia"),
    "take on amount": ("How much fresh water", "Cuánta agua limpia"),
    "hand over amount": ("How much was handed over", "Cuánta agua se entregó"),
    "use again amount": ("How much was used again", "Cuánta agua se reutilizó"),
    "escape amount": ("How much got away", "Cuánta agua se escapó"),
    "agent amount": ("{agent}: how much", "{agent}: cuánto"),
    "reached": ("What it reached", "Hasta dónde llegó"),
    "where": ("Where the water is now", "Dónde está el agua ahora"),
    "see lines": ("handed over, as said above", "se entregó, como ya dije"),
    "where again": (
        "Some water was recovered, so it is somewhere: where is it now",
        "Se recuperó agua, así que está en alguna parte: dónde está ahora",
    ),
    "how": ("{label}: an amount, or a way to work it out", "{label}: una cantidad, o una manera de calcularla"),
    "by meter": ("meter", "medidor"),
    "by mark": ("tank mark", "marca del tanque"),
    "by fills": ("fills to the float", "veces que se llenó hasta el flotador"),
    "by time": ("run time and flow test", "tiempo y prueba de caudal"),
    "by count": ("a known vessel, counted", "un recipiente conocido, contado"),
    "which": ("Which", "Cuál"),
    "start": ("{name} at the start", "{name} al empezar"),
    "end": ("{name} at the end", "{name} al terminar"),
    "before": ("{name}, level before", "{name}, nivel antes"),
    "after": ("{name}, level after", "{name}, nivel después"),
    "times": ("How many times", "Cuántas veces"),
    "minutes": ("Minutes of run time", "Minutos de trabajo"),
    "as left": ("it stands where it was last read", "está donde se leyó la última vez"),
    "left as read": (
        "{name} at the start: not looked at, said to stand where it was last read ({last})",
        "{name} al empezar: no se miró, se dice que está donde se leyó la última vez ({last})",
    ),
    "backwards": (
        "{given} is less than {name} showed before ({last}). Look again: type the figure",
        "{given} es menos de lo que {name} marcaba antes ({last}). Mire otra vez: escriba la cifra",
    ),
    "over": (
        "{given} is more than {tank} holds ({room}). Look again: type the figure",
        "{given} es más de lo que cabe en {tank} ({room}). Mire otra vez: escriba la cifra",
    ),
    "drains": ("Storm drains, at each stop", "Desagües pluviales, en cada parada"),
    "except where": ("At which stop was it different", "En qué parada fue diferente"),
    "other water": ("Other water that got away, beside what was told", "Otra agua que se escapó, aparte de lo dicho"),
    "except label": ("as planned, but not at every stop", "como estaba previsto, pero en alguna parada no"),
    "except what anywhere": ("What was different", "Qué fue diferente"),
    "except anywhere": (
        "storm drains not as planned, at which stop is not known: {what}",
        "desagües pluviales no como estaba previsto, no se sabe en qué parada: {what}",
    ),
    "except what": ("Stop {n}: what was different", "Parada {n}: qué fue diferente"),
    "escape where": ("At which stop did it get away", "En qué parada se escapó"),
    "escape anywhere": (
        "water got away, at which stop is not known: {what}",
        "se escapó agua, no se sabe en qué parada: {what}",
    ),
    "agent": ("Which product", "Qué producto"),
    "agent where": ("{agent}: at which stop", "{agent}: en qué parada"),
    "agent more": ("Another product", "Otro producto"),
    "ticket of": ("Ticket of {place}", "Recibo de {place}"),
    "ready": ("Ready to hand in", "Listo para enviar"),
    "do hand in": ("hand in", "enviar"),
    "do keep": ("keep it as a draft", "guardarlo como borrador"),
    "kept": (
        "Kept as draft {name}: washwater log --draft {name}",
        "Guardado como borrador {name}: washwater log --draft {name}",
    ),
    "unfinished": (
        "Unfinished: {names}. Go on with --draft NAME; this begins a new night.",
        "Sin terminar: {names}. Siga con --draft NOMBRE; esto empieza una noche nueva.",
    ),
    "begin": (
        "Enter passes over what is not needed, < takes the last answer back, Ctrl-C stops and keeps the draft.",
        "Enter salta lo que no hace falta, < borra la última respuesta, Ctrl-C para y guarda el borrador.",
    ),
    "which unfinished": ("Go on with a night that was begun", "Seguir con una noche ya empezada"),
    "new night": ("a new night", "una noche nueva"),
    "stops so far": ("stops so far: {n}", "paradas hasta ahora: {n}"),
    "none unfinished": ("No night is unfinished.", "No hay ninguna noche sin terminar."),
    "thrown away": ("Draft {name} is gone.", "El borrador {name} ya no está."),
    "stopped": (
        "Stopped. What was answered is kept as draft {name}: washwater log --draft {name}",
        "Detenido. Lo que contestó queda guardado como borrador {name}: washwater log --draft {name}",
    ),
    "stopped at once": ("Stopped. Nothing was handed in.", "Detenido. No se envió nada."),
    # what is told around a hand-in
    "look again": ("look again: {text}", "mire otra vez: {text}"),
    "caution": ("caution: {text}", "cuidado: {text}"),
    "draft": ("draft {name}", "borrador {name}"),
    "day ahead": (
        "the date {day} lies ahead of this clock, which says {today}",
        "la fecha {day} es posterior a la de este reloj, que marca {today}",
    ),
    "more than it holds": (
        "recovered {amount} is more than the tank holds ({room} {unit})",
        "agua recuperada: {amount} es más de lo que cabe en el tanque ({room} {unit})",
    ),
    "over again": ("{over}; look at the figure again", "{over}; mire la cifra otra vez"),
    # what is wrong before the first question, and after the last
    "where is it": ("where", "dónde"),
    "do this": ("do this", "qué hacer"),
    "no book": ("There is no book here", "Aquí no hay ningún libro"),
    "no book step": (
        "Name the folder of the book, or start one with `washwater init`.",
        "Pida a la oficina el nombre de la carpeta y escríbalo así: washwater --book CARPETA log --lang es",
    ),
    "no draft": ("There is no draft {name}", "No hay ningún borrador {name}"),
    "these drafts": ("These are there: {names}.", "Hay estos: {names}."),
    "cannot be read": ("cannot be read", "no se puede leer"),
    "draft damaged": ("The draft {name} cannot be read", "El borrador {name} no se puede leer"),
    "draft damaged step": ("Enter the night again.", "Registre la noche otra vez y avise a la oficina."),
    "not taken": (
        "The night is not handed in yet; it is kept as draft {name}. Tell the office:",
        "La noche todavía no se envió; queda guardada como borrador {name}. Avise a la oficina:",
    ),
    "serial strange": (
        "{text} is not the serial of a card: {letter} does not occur in one",
        "{text} no es el número de una hoja: {letter} no aparece en ninguno",
    ),
    "serial strange step": (
        "read it from the card again; only these occur: {alphabet}",
        "léalo otra vez en la hoja; solo aparecen estos: {alphabet}",
    ),
    "serial length": (
        "{text} has {n} characters; the serial of a card has {most} and a check character",
        "{text} tiene {n} caracteres; el número de una hoja tiene {most} y uno de control",
    ),
    "serial length step": (
        "read it from the card again; it is printed like 2345-6789-C",
        "léalo otra vez en la hoja; está impreso así: 2345-6789-C",
    ),
    "serial check": (
        "the check character of {text} does not fit the others",
        "el carácter de control de {text} no va con los demás",
    ),
    "serial check step": (
        "one character was misread, or two changed places: compare it with the card, one by one",
        "un carácter se leyó mal, o dos cambiaron de lugar: compárelo con la hoja, uno por uno",
    ),
    # a card that comes again
    "same night": (
        "the book has a run of this rig and day already: {refs}",
        "el libro ya tiene una salida de este camión y de este día: {refs}",
    ),
    "card known": (
        "this card is in the book as {ref}: the same answers change nothing, others are refused and shown beside it",
        "esta hoja ya está en el libro como {ref}: las mismas respuestas no cambian nada, otras no se aceptan y se "
        "muestran al lado",
    ),
    "card free": (
        "{ref} of this card was cancelled ({why}): with other answers this is a new night after it",
        "{ref}, de esta hoja, se canceló ({why}): con otras respuestas esta es una noche nueva después de esa",
    ),
    "card follows": (
        "follows {ref}, which {who} cancelled on {day}: {why}",
        "sigue a {ref}, que se canceló el {day} (lo dijo {who}): {why}",
    ),
    "card cancelled": (
        "{ref} says the same, and {who} cancelled it on {day}: {why}. Only without the serial is the same night new",
        "{ref} dice lo mismo y se canceló el {day} (lo dijo {who}): {why}. Solo sin el número de la hoja la misma "
        "noche es nueva",
    ),
    "card differs": (
        "card {id} is in the book as {ref} and says something else there",
        "la hoja {id} ya está en el libro como {ref} y ahí dice otra cosa",
    ),
    "id differs": (
        "a night with the id {id} is in the book as {ref} and says something else there",
        "una noche con el id {id} ya está en el libro como {ref} y ahí dice otra cosa",
    ),
    "this night": ("this night", "esta noche"),
    "differs step": (
        "look at the paper: if the book is wrong, `washwater correct` it; the book keeps what it has",
        "mire el papel: si el libro está mal, la oficina lo corrige (`washwater correct`); se queda lo que dice",
    ),
    # the summary and the progress line
    "of stops": ("{worked} worked, {not_worked} not worked", "trabajadas: {worked}, no trabajadas: {not_worked}"),
    "stops": ("Stops", "Paradas"),
    "not yet": ("not recorded yet", "todavía sin anotar"),
    "progress": ("{done} of 5 needed, stop {stops}", "{done} de 5 necesarias, parada {stops}"),
    # shown only after the figure is in
    "last reading": ("The last reading of {name} was {last}", "La última lectura de {name} fue {last}"),
    "since": ("{difference} since then", "{difference} desde entonces"),
    "last time": ("Last time: {amount} {unit} ({day})", "La vez anterior: {amount} {unit} ({day})"),
    "usual": ("Expected: {usual}", "Se esperaba: {usual}"),
    "ratio": ("That is {kind}{ratio} % of the water used", "Es {kind}{ratio} % del agua utilizada"),
    "at most": ("at most ", "como máximo "),
    "at least": ("at least ", "al menos "),
}

DAYS: Final = (
    ("Monday", "lunes"), ("Tuesday", "martes"), ("Wednesday", "miércoles"), ("Thursday", "jueves"),
    ("Friday", "viernes"), ("Saturday", "sábado"), ("Sunday", "domingo"),
)  # fmt: skip
"""Monday first, as `date.weekday` counts."""


def say(phrase: str, language: str, **values: object) -> str:
    """A phrase in 'en' or 'es' with its values filled in."""
    return PHRASES[phrase][LANGUAGES.index(language)].format(**values)


def weekday(day: date, language: str) -> str:
    """The name of the weekday of a date."""
    return DAYS[day.weekday()][LANGUAGES.index(language)]
