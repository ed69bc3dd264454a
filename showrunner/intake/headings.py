"""How columns are headed in other languages, and in whole questions: beside the plain English wordings.

German, French, Spanish, Italian and Dutch, for the columns that matter most; each as a person would write it.
"""

from __future__ import annotations

from collections.abc import Mapping

PIECES: Mapping[str, str] = {
    "id": "nummer; inventarnummer; inv nr; lfd nr; numéro; n°; no d'inventaire; numéro d'inventaire; número; núm; "
    "n.º; número de inventario; numero; numero d'inventario; num; inventarisnummer; volgnummer",
    "name": "bezeichnung; stück; objekt; gegenstand; titel; nom; objet; pièce; désignation; intitulé; nombre; objeto; "
    "pieza; prenda; nome; oggetto; pezzo; capo; naam; voorwerp; stuk; omschrijving",
    "kind": "art; typ; kategorie; catégorie; genre; tipo; categoría; clase; categoria; soort; categorie; "
    "type kledingstuk",
    "made": "datierung; entstanden; hergestellt; entstehungszeit; jahr; epoche; datation; fabriqué; époque; année; "
    "date de fabrication; datación; época; año; fecha; fecha de fabricación; datazione; epoca; anno; data; "
    "gemaakt; datering; jaar; periode; zeit",
    "acquired": "erworben; gekauft; erwerbung; kaufdatum; gekauft am; erworben am; acquis; acquis le; acheté; "
    "acheté le; "
    "date d'achat; date d'acquisition; adquirido; comprado; fecha de compra; fecha de adquisición; acquistato; "
    "acquisito; data di acquisto; data d'acquisto; verworven; gekocht; aankoopdatum; gekocht op",
    "materials": "materialien; stoff; stoffe; matière; matières; matériau; matériaux; tissu; materiales; tejido; tela; "
    "materiali; materiale; tessuto; stof; materiaal; materialen",
    "condition": "zustand; erhaltung; état; état de conservation; estado; conservación; stato; condizione; "
    "stato di conservazione; staat; conditie; toestand",
    "measurements": "maße; masse; größe; abmessungen; mesures; taille; medidas; dimensiones; talla; misure; "
    "dimensioni; "
    "taglia; maten; afmetingen; maat",
    "box": "karton; kiste; schachtel; lagerort; standort; aufbewahrung; boîte; carton; rangement; emplacement; caja; "
    "ubicación; lugar; scatola; collocazione; posizione; doos; bewaarplaats; plaats; locatie",
    "shown": "gezeigt; schon gezeigt; gefilmt; montré; déjà montré; présenté; filmé; mostrado; ya mostrado; filmado; "
    "mostrato; già mostrato; filmato; getoond; al getoond; gefilmd; vertoond; filmed; in a film",
    "shown_when": "gezeigt am; montré le; mostrado el; mostrato il; getoond op",
    "paid": "preis; kaufpreis; kosten; prix; prix d'achat; coût; precio; coste; costo; prezzo; "
    "costo d'acquisto; prijs; "
    "aankoopprijs",
    "notes": "bemerkungen; bemerkung; notiz; notizen; anmerkungen; remarques; observations; notas; observaciones; "
    "comentarios; note; osservazioni; annotazioni; opmerkingen; aantekeningen; notities",
    "claim:origin": "herkunft; origine; lieu de fabrication; origen; procedencia; provenienza; luogo; herkomst",
    "claim:maker": "hersteller; schneider; fabricant; couturière; fabricante; modista; sarto; sarta; produttore; maker",
    "photographs": "fotos; bilder; photographies; fotografías; fotografie; foto; foto's; afbeeldingen",
}
"""Headings by field, for pieces."""

EPISODES: Mapping[str, str] = {
    "title": "titel; folge; film; titre; épisode; vidéo; título; episodio; vídeo; titolo; puntata; aflevering",
    "published": "veröffentlicht; veröffentlicht am; datum; erschienen; sendedatum; publié; publié le; "
    "date de publication; "
    "date de parution; publicado; fecha; fecha de publicación; pubblicato; pubblicato il; data; "
    "data di pubblicazione; gepubliceerd; gepubliceerd op; publicatiedatum; verschenen",
    "planned": "geplant; geplant für; prévu; prévu le; previsto; planeado; previsto per; gepland; gepland voor",
    "about": "stück; stücke; objekt; objekte; pièce; pièces; objet; objets; pieza; piezas; objeto; objetos; "
    "pezzo; pezzi; "
    "oggetto; oggetti; stuk; stukken; voorwerp; voorwerpen",
    "link": "adresse; lien; enlace; indirizzo; collegamento",
    "run_time": "länge; dauer; durée; duración; durata; lengte; duur",
}
"""Headings by field, for past episodes."""

PIECE_KEYS: tuple[tuple[str, str], ...] = (
    ("been shown", "shown"),
    ("shown", "shown"),
    ("featured", "shown"),
    ("in a video", "shown"),
    ("in an episode", "shown"),
    ("filmed", "shown"),
    ("made of", "materials"),
    ("fabric", "materials"),
    ("material", "materials"),
    ("did you get", "acquired"),
    ("did i get", "acquired"),
    ("get it", "acquired"),
    ("bought", "acquired"),
    ("buy", "acquired"),
    ("acquired", "acquired"),
    ("which box", "box"),
    ("kept", "box"),
    ("stored", "box"),
    ("how old", "made"),
    ("made", "made"),
    ("date from", "made"),
    ("condition", "condition"),
    ("shape is it in", "condition"),
    ("called", "name"),
    ("name", "name"),
    ("what is it", "name"),
    ("what kind", "kind"),
    ("number", "id"),
    ("pay", "paid"),
    ("cost", "paid"),
    ("anything else", "notes"),
    ("notes", "notes"),
    ("remarks", "notes"),
    ("comments", "notes"),
)
"""Key words of a long heading such as `When did you get it?`, those that say most first."""

EPISODE_KEYS: tuple[tuple[str, str], ...] = (
    ("come out", "published"),
    ("came out", "published"),
    ("published", "published"),
    ("which piece", "about"),
    ("pieces", "about"),
    ("called", "title"),
    ("title", "title"),
    ("link", "link"),
    ("how long", "run_time"),
)
"""The same for past episodes."""
